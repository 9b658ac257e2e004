-- Grain: one row per season, earlier ones first: members with coffee, kg green, bearing trees, value and
-- value at the best price, minor units, of coffee whose trees and best price are both known; and the value
-- of the other coffee. The last row is this season as it stands.
with earlier as (
    select
        member_no, species, ended_on, green_kg, coalesce(trees_bearing, 0) as trees,
        value_minor, value_best_minor as best_minor
    from past_crops
    cross join season_days as d
    where state = 'counted' and ended_on < d.first_day
),
this as (
    select
        c.member_no, c.species, d.last_day as ended_on, sum(c.gbe_kg) as green_kg,
        coalesce(any_value(y.trees_bearing), 0) as trees,
        cast(sum(c.value_minor) as bigint) as value_minor, cast(sum(c.best_minor) as bigint) as best_minor
    from member_coffee as c
    cross join season_days as d
    left join member_yield as y on y.member_no = c.member_no and y.species = c.species
    group by c.member_no, c.species, d.last_day
),
every as (
    select *, trees > 0 and green_kg > 0 and best_minor > 0 and value_minor > 0 as known
    from (select * from earlier union all by name select * from this)
)
select
    ended_on,
    count(distinct member_no) filter (green_kg > 0) as members,
    cast(sum(green_kg) as decimal(18, 3)) as all_kg,
    cast(coalesce(sum(value_minor), 0) as bigint) as all_minor,
    count(value_minor) = count(*) as valued,
    cast(coalesce(sum(green_kg) filter (known), 0) as decimal(18, 3)) as kg,
    cast(coalesce(sum(trees) filter (known), 0) as bigint) as trees,
    cast(coalesce(sum(value_minor) filter (known), 0) as bigint) as value_minor,
    cast(coalesce(sum(best_minor) filter (known), 0) as bigint) as best_minor,
    cast(coalesce(sum(value_minor) filter (known is not true), 0) as bigint) as other_minor
from every
group by ended_on
order by ended_on
