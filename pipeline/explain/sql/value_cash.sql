-- Grain: one row: what one member ($member) was paid in a month ($one: 2026-05), less what was spent then,
-- minor units; nothing where no cost is recorded in that month.
with paid as (
    select coalesce(sum(case when from_account = 'member' then amount_minor else -amount_minor end), 0) as minor
    from transfers
    where member_no = $member and what = 'payment' and strftime(day, '%Y-%m') = $one
),
spent as (
    select sum(cost_minor) as minor
    from member_cost
    where member_no = $member and counts and source <> 'credit' and strftime(day, '%Y-%m') = $one
)
select cast(p.minor - coalesce(s.minor, 0) as bigint) as value
from paid as p
cross join spent as s
where p.minor <> 0 or s.minor is not null
