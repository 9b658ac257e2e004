-- Grain: one row per live row of plots; limits of its species at the member's station.
create or replace temp view check_plots as
select
    r.*,
    m.name as member_name,
    s.taken_day,
    cast(trees_per_ha(r.row_spacing_m, r.tree_spacing_m, r.layout) * r.area_ha as decimal(18, 0))
        as room_for_trees,
    l.* exclude (species, form, station),
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_plots as r
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join limits_here as l
    on l.species = coalesce(r.species, '') and l.form = '' and l.station = coalesce(m.station, '');
