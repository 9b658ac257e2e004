-- Grain: one row per live weighing, beside its member, station, scale and limits.
create or replace temp view check_weighings as
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    sc.station as scale_station,
    sc.interval_kg,
    sc.capacity_kg,
    smallest_load_kg(sc.interval_kg, sc.class) as smallest_kg,
    coalesce(in_service_error_kg(r.net_kg, sc.interval_kg, sc.class), 0) as allowed_error_kg,
    s.taken_day,
    d.first_day,
    d.last_day,
    u.col is not null as moisture_unread,
    cv.col is not null as gross_converted,
    r.net_kg as weight_kg,
    greatest(coalesce(r.bags, 1), 1) as sacks,
    l.* exclude (species, form, station),
    r.net_kg as kg_at_stake
from live_weighings as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join stations as st on st.station = r.station
left join scales as sc on sc.scale = r.scale
left join unreadable as u
    on u.kind = 'weighings' and u.col = 'moisture_pct'
    and u.sheet_no = r.sheet_no and u.row_no = r.row_no
left join converted as cv
    on cv.kind = 'weighings' and cv.col = 'gross_kg' and cv.unit not in ('g', 't')
    and cv.sheet_no = r.sheet_no and cv.row_no = r.row_no
left join limits_here as l
    on nullif(l.species, '') is not distinct from r.species and nullif(l.form, '') is not distinct from r.form
    and nullif(l.station, '') is not distinct from st.station;

-- Grain: one row per live row, with its weight in kg and how many sacks stood on the scale.
create or replace temp view weight_of_weighings as
select sheet_no, row_no, station, member_no, species, form, net_kg as weight_kg, greatest(coalesce(bags, 1), 1) as sacks
from live_weighings;
