-- Grain: one row: the band that is expected of one member's ($member) blocks of a species ($one) together.
select held_low || ' to ' || held_high as value
from (
    select
        cast(round(sum(expected_low_kg * trees_bearing) / sum(trees_bearing), 3) as decimal(14, 3)) as held_low,
        cast(round(sum(expected_high_kg * trees_bearing) / sum(trees_bearing), 3) as decimal(14, 3)) as held_high
    from block_yield
    where member_no = $member and species = $one and held is null and expected_low_kg is not null
)
where held_low is not null
