-- Grain: one row per member, species and form of the weighings in `earned_asked`, grams and minor units: what they
-- come to, and for each deduction, in their order, what is asked for shares of those that ask more than nought
-- ($each_most: `asked_most`). may_wait: whether a weighing does not bear all rates together beside what is to be kept.
create or replace temp table earned_in as
with kept as (
    select coalesce(max(keep_percent), 0) as percent from deductions where takes not in ('credit', 'charges')
)
select
    e.member_no, e.species, e.form,
    count(*) as deliveries,
    cast(sum(grams(e.net_kg)) as bigint) as net_g,
    cast(sum(grams(e.gbe_kg)) as bigint) as gbe_g,
    cast(sum(e.value_minor) as bigint) as value_minor,
    cast(sum(e.value_minor) filter (e.best_minor is not null) as bigint) as priced_minor,
    cast(sum(e.best_minor) as bigint) as best_minor,
    cast([$each_most] as bigint[]) as most_minor,
    bool_or((
        e.value_minor >= 0 and e.net_kg >= 0
        and e.all_minor <= e.with_premiums - kept_minor(e.with_premiums, k.percent)
    ) is not true) as may_wait
from (
    select
        *, coalesce(list_sum(asked_minor), 0) as all_minor,
        greatest(value_minor + coalesce(premium_minor, 0), 0) as with_premiums
    from earned_asked
) as e
cross join kept as k
group by e.member_no, e.species, e.form
