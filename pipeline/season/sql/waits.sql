-- Grain: one row per member of whom a deduction may have to wait, and the position of the first that may: who
-- owes something, or has a weighing that does not bear all rates together beside what is to be kept of it. A member
-- too many here, or one too early, costs time and changes nothing.
create or replace temp table waits as
with kept as (
    select coalesce(max(keep_percent), 0) as percent from deductions where takes not in ('credit', 'charges')
)
select member_no, min(position) as position
from (
    select member_no, position from debts
    union all
    select e.member_no, 1
    from (
        select
            member_no, value_minor, net_kg, coalesce(list_sum(asked_minor), 0) as asked_minor,
            greatest(value_minor + coalesce(premium_minor, 0), 0) as with_premiums
        from earned_asked
    ) as e
    cross join kept as k
    where (
        value_minor >= 0 and net_kg >= 0
        and asked_minor <= with_premiums - kept_minor(with_premiums, k.percent)
    ) is not true
)
group by member_no
