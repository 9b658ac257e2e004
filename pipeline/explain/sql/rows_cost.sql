-- Grain: one row per cost of one member ($member) that counts, tools apart: written down, told on a visit or
-- on an issue note.
select
    c.kind, c.sheet_no, c.row_no, case when c.source = 'credit' then 'amount' else 'cost' end as col,
    c.cost_minor as amount,
    case c.source
        when 'visit' then [['cost_visit', 'wheading:' || c.heading, 'd' || c.day, 'wactivity:' || c.activity]]
        when 'credit' then [
            case when k.note_no is null then ['cost_before', 'wheading:' || c.heading, 'd' || c.day]
                else ['cost_note', 'wheading:' || c.heading, 't' || k.note_no, 'd' || c.day] end,
            ['for_item', 't' || k.item], ['charge', 'm' || nullif(k.charge_minor, 0)]
        ]
        else [
            ['cost_record', 'wheading:' || c.heading, 'd' || c.day, 'wactivity:' || c.activity],
            ['also', 't' || f.item]
        ]
    end as says
from member_cost as c
left join farm_record as f on c.kind = 'farm_record' and f.sheet_no = c.sheet_no and f.row_no = c.row_no
left join credit as k on c.kind = 'credit' and k.sheet_no = c.sheet_no and k.row_no = c.row_no
where c.member_no = $member and c.counts and c.heading <> 'tools' and c.cost_minor is not null
order by c.day, c.kind, c.sheet_no, c.row_no
