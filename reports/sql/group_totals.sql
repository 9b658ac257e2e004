-- Grain: one row, the season of the whole group; kg of green bean equivalent, minor units.
select
    count(*) filter (registered) as members,
    count(*) filter (deliveries > 0) as delivering,
    coalesce(sum(deliveries), 0)::bigint as deliveries,
    coalesce(sum(gbe_kg), 0)::decimal(14, 3) as gbe_kg,
    coalesce(sum(opening_minor), 0)::bigint as opening_minor,
    coalesce(sum(value_minor), 0)::bigint as value_minor,
    coalesce(sum(premium_minor), 0)::bigint as premium_minor,
    coalesce(sum(second_minor), 0)::bigint as second_minor,
    coalesce(sum(other_minor), 0)::bigint as other_minor,
    coalesce(sum(premium_minor + second_minor + other_minor), 0)::bigint as added_minor,
    coalesce(sum(loan_minor), 0)::bigint as loan_minor,
    coalesce(sum(shares_minor), 0)::bigint as shares_minor,
    coalesce(sum(deducted_minor), 0)::bigint as deducted_minor,
    coalesce(sum(paid_minor), 0)::bigint as paid_minor,
    coalesce(sum(balance_minor), 0)::bigint as balance_minor,
    coalesce(sum(waiting_rows), 0)::bigint as waiting_rows,
    coalesce(sum(waiting_kg), 0)::decimal(14, 3) as waiting_kg,
    count(*) filter (waiting_rows > 0) as waiting_members,
    count(*) filter (registered and record_rows = 0) as unrecorded
from member_season
