-- Grain: one row per member: one deduction ($one), minor units.
select member_no, cast(sum(amount_minor) as bigint) as amount
from transfers
where what = 'deduction' and to_account = 'deduction:' || $one
group by member_no
order by member_no
