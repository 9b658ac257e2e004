-- Grain: one row per live store check, beside its station and limits.
create or replace temp view check_store_checks as
select
    r.*,
    cast(null as varchar) as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    l.* exclude (species, form, station),
    r.counted_kg as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_store_checks as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join stations as st on st.station = r.station
left join limits_here as l
    on l.species = '' and l.form = coalesce(r.form, '')
    and l.station = case when st.station is null then '' else r.station end;
