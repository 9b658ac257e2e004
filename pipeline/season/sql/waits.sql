-- Grain: one row per member of whom a deduction may have to wait, and the position of the first that may: who
-- owes something, or has a weighing that does not bear all rates together, rounded up, beside what is to be
-- kept of it. A member too many here, or one too early, costs time and changes nothing.
create or replace temp table waits as
with asked as (
    -- What all deductions by a rate ask of one form of coffee.
    select
        f.form, sum(d.percent) as percent, sum(d.per_kg) as per_kg, count(*) as rates,
        max(cast(d.keep_percent * 10000 as bigint)) as keep
    from (select distinct form from earned) as f
    inner join deductions as d on d.takes not in ('credit', 'charges') and (d.form <> f.form) is not true
    group by f.form
)
select member_no, min(position) as position
from (
    select member_no, position from debts
    union all
    select e.member_no, 1
    from earned as e
    inner join asked as a on a.form is not distinct from e.form
    where (
        e.value_minor >= 0 and e.net_kg >= 0
        and coalesce(percent_minor(e.value_minor, a.percent), 0)
            + coalesce(per_kg_minor(e.net_kg, a.per_kg, $decimals), 0) + a.rates
            <= e.left_minor - cast(
                (cast(greatest(e.value_minor + e.premium_minor, 0) as hugeint) * a.keep + 999999)
                // 1000000 as bigint
            )
    ) is not true
)
group by member_no
