-- Grain: one row per cost of one member ($member) that counts, tools apart: written down, told on a visit or
-- on an issue note.
select
    c.kind, c.sheet_no, c.row_no, case when c.source = 'credit' then 'amount' else 'cost' end as col,
    c.cost_minor as amount,
    c.heading || case c.source
        when 'visit' then ', told on the visit of ' || c.day || ': ' || replace(c.activity, '_', ' ')
        when 'credit' then coalesce(', on credit, issue note ' || k.note_no, ', given before the season')
            || ' of ' || c.day || coalesce(': ' || k.item, '')
            || coalesce(', with a charge of ' || chr(30) || nullif(k.charge_minor, 0) || chr(31), '')
        else ', written down for ' || c.day || ': ' || replace(c.activity, '_', ' ') || coalesce(', ' || f.item, '')
    end as says
from member_cost as c
left join farm_record as f on c.kind = 'farm_record' and f.sheet_no = c.sheet_no and f.row_no = c.row_no
left join credit as k on c.kind = 'credit' and k.sheet_no = c.sheet_no and k.row_no = c.row_no
where c.member_no = $member and c.counts and c.heading <> 'tools' and c.cost_minor is not null
order by c.day, c.kind, c.sheet_no, c.row_no
