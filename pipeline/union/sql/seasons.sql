-- Grain: one row, the season of one book: rows by state, coffee, money (minor units).
with states as (
    select
        cast(coalesce(sum(arrived), 0) as bigint) as arrived,
        cast(coalesce(sum(counted), 0) as bigint) as counted,
        cast(coalesce(sum(held), 0) as bigint) as held,
        cast(coalesce(sum(sent_back), 0) as bigint) as sent_back,
        cast(coalesce(sum(replaced), 0) as bigint) as replaced,
        cast(coalesce(sum(left_out), 0) as bigint) as left_out
    from sheet_states
),
members as (
    select
        count(*) filter (registered) as members,
        count(*) filter (deliveries > 0) as delivering,
        cast(coalesce(sum(deliveries), 0) as bigint) as deliveries,
        cast(coalesce(sum(gbe_kg), 0) as decimal(18, 3)) as gbe_kg,
        cast(coalesce(sum(value_minor), 0) as bigint) as value_minor,
        cast(coalesce(sum(deducted_minor), 0) as bigint) as deducted_minor,
        cast(coalesce(sum(paid_minor), 0) as bigint) as paid_minor,
        cast(coalesce(sum(balance_minor), 0) as bigint) as balance_minor
    from member_season
)
select s.*, m.*
from states as s
cross join members as m
