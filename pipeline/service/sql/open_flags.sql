-- Grain: one row per rule with open flags that hold or send back: how many, and the money at stake
-- (minor units), the costliest first.
select
    rule,
    count(*) as flags,
    cast(coalesce(sum(minor_at_stake), 0) as bigint) as minor_at_stake
from flags
where decision is null and severity in ('hold', 'send_back')
group by rule
order by minor_at_stake desc, rule
