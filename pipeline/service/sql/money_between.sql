-- Grain: one row per kind of movement of money between two days; minor units.
select what, count(*) as movements, cast(sum(amount_minor) as bigint) as amount_minor
from transfers
where day between $first_day and $last_day
group by what
order by what
