-- Grain: one row per member, species and earlier season: kg green, bearing trees, these as trees in full
-- bearing (by the age that the member's blocks had then), and how much was in after a quarter, half and
-- three quarters of the season, where that is known and in order.
with aged as (
    select
        b.member_no, b.species, e.ended_on, b.trees_bearing,
        bearing_pct(cast(coalesce(b.age, 10) - (year(d.last_day) - year(e.ended_on)) as integer)) as pct
    from block_yield as b
    cross join (select distinct ended_on from past_crops) as e
    cross join season_days as d
    where b.plot_no <> '' and b.trees_bearing > 0
),
bore as (
    select
        member_no, species, ended_on,
        cast(sum(trees_bearing * pct) as double) / nullif(sum(trees_bearing) filter (pct > 0), 0) / 100
            as share
    from aged
    group by member_no, species, ended_on
)
select
    p.member_no, p.species, p.ended_on, cast(p.green_kg as double) as kg,
    coalesce(p.trees_bearing, 0) as trees,
    coalesce(p.trees_bearing, 0) * coalesce(b.share, 1.0) as full,
    case when k.ok then cast(p.by_quarter_kg as double) end as quarter_kg,
    case when k.ok then cast(p.by_half_kg as double) end as half_kg,
    case when k.ok then cast(p.by_three_quarters_kg as double) end as three_quarters_kg
from past_crops as p
cross join season_days as d
cross join lateral (
    select coalesce(
        p.by_quarter_kg <= p.by_half_kg and p.by_half_kg <= p.by_three_quarters_kg
        and p.by_three_quarters_kg <= p.green_kg, false
    ) as ok
) as k
left join bore as b on b.member_no = p.member_no and b.species = p.species and b.ended_on = p.ended_on
where p.state = 'counted' and p.ended_on < d.first_day
order by p.ended_on, p.member_no, p.species
