-- Grain: one row per live row of the farm records.
create or replace temp view check_farm_record as
select
    r.*,
    m.name as member_name,
    p.plot_no is not null as plot_known,
    s.taken_day,
    d.first_day,
    d.last_day,
    l.* exclude (species, form, station),
    cast(null as decimal(14, 3)) as kg_at_stake,
    r.cost_minor as minor_at_stake
from live_farm_record as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join known_plots as p on p.member_no = r.member_no and p.plot_no = r.plot_no
left join limits_here as l
    on l.species = '' and l.form = '' and l.station = coalesce(m.station, '');
