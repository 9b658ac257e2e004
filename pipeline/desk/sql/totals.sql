-- Grain: one row, the season of the whole group; kg of green bean equivalent, minor units.
select
    count(*) filter (registered) as members,
    count(*) filter (deliveries > 0) as delivering,
    cast(coalesce(sum(deliveries), 0) as bigint) as deliveries,
    cast(coalesce(sum(gbe_kg), 0) as decimal(14, 3)) as gbe_kg,
    cast(coalesce(sum(value_minor), 0) as bigint) as value_minor,
    cast(coalesce(sum(deducted_minor), 0) as bigint) as deducted_minor,
    cast(coalesce(sum(paid_minor), 0) as bigint) as paid_minor,
    cast(coalesce(sum(balance_minor), 0) as bigint) as balance_minor,
    cast(coalesce(sum(waiting_rows), 0) as bigint) as waiting_rows,
    cast(coalesce(sum(waiting_kg), 0) as decimal(14, 3)) as waiting_kg
from member_season
