-- Grain: one row per block of one member, as block_yield has it.
select
    plot_no, species, planted_year, age, age_class, wood, trees, trees_bearing, area_ha, gbe_kg, shared,
    per_tree_kg, per_ha_kg, expected_low_kg, expected_high_kg, held
from block_yield
where member_no = $member
order by species, plot_no
