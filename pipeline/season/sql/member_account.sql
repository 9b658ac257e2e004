-- Grain: one row per movement of what a member is owed for coffee, up or down; a weighing's value and deductions as
-- one. Minor units.
select member_no, day, value_minor - coalesce(list_sum(deducted_minor), 0) as amount_minor
from settlements
union all
select member_no, day, -amount_minor
from payments
where state = 'counted'
union all
select member_no, day, case when to_account = 'member' then amount_minor else -amount_minor end
from movements
where 'member' in (from_account, to_account)
