-- Grain: one row per member and species whose counted coffee is above the lowest ceiling of what trees and
-- land have ever borne, at the plot with the most bearing trees. Both ceilings are looked at together: widely
-- spaced trees bear more each, and dense ones more a hectare.
with high as (
    select member_no, species, gbe_kg, trees_bearing, gbe_per_tree_kg, gbe_per_ha_kg
    from member_yield
    where gbe_per_tree_kg > (select min(yield_per_tree_high) from limits_here)
        or gbe_per_ha_kg > (select min(yield_per_ha_high) from limits_here)
),
latest as (
    select
        member_no,
        plot_no,
        max_by(species, (counted_on, sheet_no, row_no)) as species,
        max_by(trees_bearing, (counted_on, sheet_no, row_no)) as trees_bearing,
        max((counted_on, sheet_no, row_no)) as place
    from live_rows
    where member_no in (select member_no from high)
        and counted_on is not null and species is not null and trees_bearing is not null
    group by member_no, plot_no
),
largest as (
    select member_no, species, max_by(place, (trees_bearing, plot_no)) as place
    from latest
    group by member_no, species
)
select
    p.place[2] as sheet_no, p.place[3] as row_no,
    y.gbe_kg,
    y.trees_bearing as trees_bearing_all,
    y.gbe_per_tree_kg,
    y.gbe_per_ha_kg,
    y.gbe_kg as kg_at_stake,
    t.value_minor as minor_at_stake
from largest as p
inner join high as y on y.member_no = p.member_no and y.species = p.species
inner join (
    select member_no, species, cast(sum(value_minor) as bigint) as value_minor
    from member_coffee
    where member_no in (select member_no from high)
    group by member_no, species
) as t on t.member_no = p.member_no and t.species = p.species
