-- Grain: one row: one deduction ($one) of all members together, minor units; no row where neither the book
-- declares it nor any member has it.
select cast(coalesce(sum(t.amount_minor), 0) as bigint) as value
from (select 1 as one_row) as s
left join transfers as t on t.what = 'deduction' and t.to_account = 'deduction:' || $one
where t.amount_minor is not null or $one in (select deduction from deductions)
group by s.one_row
