-- Grain: one row per member and species with coffee or bearing trees this season, as the next seasons need
-- it: green kg, how much of it was in after a quarter, half and three quarters of the days (null where
-- some of it has no day), bearing trees, area, value and value at the
-- best price in minor units.
with days as (
    select first_day, last_day, date_diff('day', first_day, last_day) + 1 as n from season_days
),
dated as (
    select
        w.member_no, w.species, v.gbe_kg,
        (date_diff('day', d.first_day, w.day) + 1) * 4 as quarters, d.n
    from weighings as w
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    cross join days as d
    where w.state = 'counted'
),
by_part as (
    select
        member_no, species,
        sum(gbe_kg) as all_kg,
        coalesce(sum(gbe_kg) filter (quarters <= n), 0) as by_quarter_kg,
        coalesce(sum(gbe_kg) filter (quarters <= 2 * n), 0) as by_half_kg,
        coalesce(sum(gbe_kg) filter (quarters <= 3 * n), 0) as by_three_quarters_kg
    from dated
    group by member_no, species
),
crop as (
    select
        member_no, species, cast(sum(gbe_kg) as decimal(14, 3)) as green_kg,
        cast(sum(value_minor) as bigint) as value_minor, cast(sum(priced_minor) as bigint) as priced_minor,
        cast(sum(best_minor) as bigint) as best_minor
    from member_coffee
    group by member_no, species
)
select
    coalesce(c.member_no, y.member_no) as member_no,
    coalesce(c.species, y.species) as species,
    d.last_day as ended_on,
    coalesce(c.green_kg, 0) as green_kg,
    nullif(y.trees_bearing, 0) as trees_bearing,
    nullif(y.area_ha, 0) as area_ha,
    case when p.all_kg = c.green_kg then cast(p.by_quarter_kg as decimal(14, 3)) end as by_quarter_kg,
    case when p.all_kg = c.green_kg then cast(p.by_half_kg as decimal(14, 3)) end as by_half_kg,
    case when p.all_kg = c.green_kg then cast(p.by_three_quarters_kg as decimal(14, 3)) end
        as by_three_quarters_kg,
    coalesce(c.value_minor, 0) as value_minor,
    case when c.priced_minor = c.value_minor then c.best_minor end as best_minor
from crop as c
full join (select * from member_yield where trees_bearing > 0) as y
    on y.member_no = c.member_no and y.species = c.species
cross join days as d
left join by_part as p on p.member_no = c.member_no and p.species = c.species
where exists (
    select 1 from known_members as m where m.member_no = coalesce(c.member_no, y.member_no)
)
order by member_no, species
