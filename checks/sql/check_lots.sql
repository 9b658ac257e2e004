-- Grain: one row per live row of a lot's card, beside what came before it on the card, how long it
-- took, and the limits.
create or replace temp view check_lots as
select
    r.*,
    cast(null as varchar) as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    t.* exclude (sheet_no, row_no, lot_no),
    -- Null before the first step, and so never above it.
    list_position(['fresh_cherry', 'dry_cherry', 'parchment', 'green'], r.form) as form_place,
    list_position(['fresh_cherry', 'dry_cherry', 'parchment', 'green'], t.earlier_form)
        as earlier_place,
    l.* exclude (species, form, station),
    coalesce(r.kg_out, r.kg_in) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_lots as r
inner join lot_times as t on t.sheet_no = r.sheet_no and t.row_no = r.row_no
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join stations as st on st.station = r.station
left join limits_here as l
    on nullif(l.species, '') is not distinct from r.species and nullif(l.form, '') is not distinct from r.form
    and nullif(l.station, '') is not distinct from st.station;
