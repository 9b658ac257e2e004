-- Grain: one row per live row of a kind that has no view of its own, beside its member and station,
-- and the limits of its coffee there: at its own station, else at its member's.
-- Filled in from the kind's declaration: $kind, its name; $member_no, $station, $species, $form, $kg
-- and $minor, the columns it has for these, each a typed null where it has none.
create or replace temp view check_$kind as
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    l.* exclude (species, form, station),
    cast($kg as decimal(14, 3)) as kg_at_stake,
    cast(abs($minor) as bigint) as minor_at_stake
from live_$kind as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = $member_no
left join stations as st on st.station = $station
left join stations as home on home.station = m.station
left join limits_here as l
    on l.species = coalesce($species, '') and l.form = coalesce($form, '')
    and l.station = coalesce(st.station, home.station, '');
