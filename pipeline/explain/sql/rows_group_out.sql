-- Grain: one row per cost under one heading ($one) that counts.
select
    kind, sheet_no, row_no, case when source = 'credit' then 'amount' else 'cost' end as col, cost_minor as amount,
    [['member_' || source, 't' || member_no, 'd' || day]] as says
from member_cost
where counts and not doubtful and heading = $one and cost_minor is not null
order by kind, sheet_no, row_no
