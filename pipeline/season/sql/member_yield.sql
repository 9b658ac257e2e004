-- Grain: one row per member and species with plots: the latest counted row of each plot, against the
-- coffee delivered. No bearing trees or no area gives no yield, never a division by a guess.
insert into member_yield
with counts as (
    select *, moment_of(counted_on, sheet_no, row_no) as later
    from plots
    where state = 'counted'
),
latest as (
    select
        member_no,
        plot_no,
        max_by(species, later) as species,
        max_by(trees, later) as trees,
        max_by(trees_bearing, later) as trees_bearing,
        max_by(area_ha, later) as area_ha
    from counts
    group by member_no, plot_no
),
land as (
    select
        member_no,
        species,
        cast(sum(trees) as bigint) as trees,
        cast(sum(trees_bearing) as bigint) as trees_bearing,
        cast(sum(area_ha) as decimal(14, 4)) as area_ha
    from latest
    group by member_no, species
),
coffee as (
    select member_no, species, cast(sum(gbe_kg) as decimal(14, 3)) as gbe_kg
    from member_coffee
    group by member_no, species
)
select
    l.member_no,
    l.species,
    l.trees,
    l.trees_bearing,
    l.area_ha,
    coalesce(c.gbe_kg, 0) as gbe_kg,
    kg_from_grams(
        div_half_away(grams(coalesce(c.gbe_kg, 0)), nullif(l.trees_bearing, 0))
    ) as gbe_per_tree_kg,
    -- grams x 10 000 over area x 10 000, in tenths of a kilogram.
    cast(div_half_away(
        cast(grams(coalesce(c.gbe_kg, 0)) as hugeint) * 100,
        cast(nullif(l.area_ha, 0) * 10000 as bigint)::hugeint
    ) * 0.1 as decimal(14, 1)) as gbe_per_ha_kg
from land as l
left join coffee as c on c.member_no = l.member_no and c.species = l.species
order by l.member_no, l.species;
