-- Grain: one row per rule that flagged anything: how many flags, how many open, minor units at stake.
select
    rule,
    count(*) as flags,
    count(*) filter (decision is null) as still_open,
    cast(coalesce(sum(minor_at_stake) filter (decision is null), 0) as bigint) as open_minor
from flags
group by rule
order by still_open desc, rule
