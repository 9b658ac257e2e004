-- Grain: one row per cost of tools of one member ($member) that counts: the whole price.
select
    c.kind, c.sheet_no, c.row_no, case when c.source = 'credit' then 'amount' else 'cost' end as col,
    c.cost_minor as amount,
    [
        ['whole_price', 'd' || c.day], ['also', 't' || coalesce(f.item, k.item)],
        ['tool_years', 'n' || (
            select plain_digits(tool_years) from limits_here where station = '' and species = '' and form = ''
        )]
    ] as says
from member_cost as c
left join farm_record as f on c.kind = 'farm_record' and f.sheet_no = c.sheet_no and f.row_no = c.row_no
left join credit as k on c.kind = 'credit' and k.sheet_no = c.sheet_no and k.row_no = c.row_no
where c.member_no = $member and c.counts and c.heading = 'tools' and c.cost_minor is not null
order by c.day, c.kind, c.sheet_no, c.row_no
