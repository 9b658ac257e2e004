-- Grain: one row per block with bearing trees: whose, at which station the member usually delivers, its trees
-- and what share of a full crop its age and wood leave it, this season and the next.
with latest as (
    select member_no, village, station
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    b.member_no, l.village, l.station, b.plot_no, b.species, b.trees_bearing, b.trees, coalesce(b.gaps, 0) as gaps,
    cast(b.area_ha as double) as area_ha,
    cast(b.expected_low_kg as double) as low_kg, cast(b.expected_high_kg as double) as high_kg,
    bearing_pct(coalesce(b.age, 10)) as share_pct,
    bearing_pct(coalesce(b.age, 10) + 1) as next_pct
from block_yield as b
inner join latest as l on l.member_no = b.member_no
where b.plot_no <> '' and b.trees_bearing > 0
order by b.member_no, b.species, b.plot_no
