-- Grain: one row per member and species with plots: what the latest count of each found, against the coffee delivered.
-- No bearing trees or no area gives no yield, never a division by a guess.
insert into member_yield
select
    member_no,
    species,
    trees,
    trees_bearing,
    area_ha,
    kg_from_grams(gbe_g) as gbe_kg,
    kg_from_grams(div_half_away(gbe_g, nullif(trees_bearing, 0))) as gbe_per_tree_kg,
    -- Grams x 10 000 over area x 10 000, in tenths of a kilogram.
    cast(div_half_away(
        cast(gbe_g as hugeint) * 100, cast(nullif(area_ha, 0) * 10000 as bigint)::hugeint
    ) * 0.1 as decimal(14, 1)) as gbe_per_ha_kg
from (
    select
        member_no,
        species,
        cast(sum(trees) as bigint) as trees,
        cast(sum(trees_bearing) as bigint) as trees_bearing,
        cast(sum(area_ha) as decimal(14, 4)) as area_ha,
        cast(sum(grams(gbe_kg)) as bigint) as gbe_g
    from block_yield
    group by member_no, species
    -- Coffee that no block can have borne is not the yield of any.
    having bool_or(plot_no <> '')
)
order by member_no, species
