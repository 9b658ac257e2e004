-- Grain: one row per member and species: blocks that bore, whether coffee was shared over them, the band that
-- is expected of them, kg green a bearing tree, wood that is overdue, and why there is no yield, if so.
select
    member_no, species,
    count(*) filter (held is null) as blocks,
    bool_or(shared) as shared,
    round(sum(expected_low_kg * trees_bearing) filter (held is null)
        / nullif(sum(trees_bearing) filter (held is null and expected_low_kg is not null), 0), 3)::decimal(14, 3)
        as low_kg,
    round(sum(expected_high_kg * trees_bearing) filter (held is null)
        / nullif(sum(trees_bearing) filter (held is null and expected_high_kg is not null), 0), 3)::decimal(14, 3)
        as high_kg,
    count(*) filter (wood = 'overdue') as overdue,
    max(held) filter (gbe_kg > 0) as held
from block_yield
where member_no in (select unnest($members::varchar[]))
group by member_no, species
order by member_no, species
