-- Grain: one row per member and species whose counted coffee is above what trees and land have ever
-- borne, at the plot with the most bearing trees. Both ceilings are looked at together: widely
-- spaced trees bear more each, and dense ones more a hectare.
with latest as (
    select
        member_no,
        plot_no,
        max_by(species, (counted_on, sheet_no, row_no)) as species,
        max_by(trees_bearing, (counted_on, sheet_no, row_no)) as trees_bearing,
        max((counted_on, sheet_no, row_no)) as place
    from live_rows
    where counted_on is not null and species is not null and trees_bearing is not null
    group by member_no, plot_no
),
largest as (
    select member_no, species, max_by(place, (trees_bearing, plot_no)) as place
    from latest
    group by member_no, species
)
select
    c.* exclude (kg_at_stake, minor_at_stake),
    y.gbe_kg,
    y.trees_bearing as trees_bearing_all,
    y.gbe_per_tree_kg,
    y.gbe_per_ha_kg,
    y.gbe_kg as kg_at_stake,
    t.value_minor as minor_at_stake
from check_rows as c
inner join largest as p
    on p.member_no = c.member_no and p.species = c.species
    and p.place[2] = c.sheet_no and p.place[3] = c.row_no
inner join member_yield as y on y.member_no = c.member_no and y.species = c.species
inner join (
    select member_no, species, cast(sum(value_minor) as bigint) as value_minor
    from member_coffee
    group by member_no, species
) as t on t.member_no = c.member_no and t.species = c.species
where y.gbe_per_tree_kg > c.yield_per_tree_high
    or y.gbe_per_ha_kg > c.yield_per_ha_high
