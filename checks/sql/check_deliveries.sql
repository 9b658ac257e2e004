-- Grain: one row per live row of the members' own records, beside the delivery at the station that it
-- was matched with: `receipt_kg` is what the scale showed for it.
create or replace temp view check_deliveries as
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    p.net_kg as receipt_kg,
    p.receipt_is,
    r.kg as weight_kg,
    cast(1 as bigint) as sacks,
    coalesce(u.receipt_unknown, false) as receipt_unknown,
    l.* exclude (species, form, station),
    case when u.receipt_unknown then r.kg else abs(p.record_kg - p.net_kg) end as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_deliveries as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join stations as st on st.station = r.station
left join matched as p
    on p.record_sheet_no = r.sheet_no and p.record_row_no = r.row_no and p.standing = 'settled'
left join unmatched as u
    on u.side = 'record' and u.sheet_no = r.sheet_no and u.row_no = r.row_no
left join limits_here as l
    on nullif(l.species, '') is not distinct from r.species and nullif(l.form, '') is not distinct from r.form
    and nullif(l.station, '') is not distinct from st.station;

-- Grain: one row per live row, with its weight in kg and how many sacks stood on the scale.
create or replace temp view weight_of_deliveries as
select sheet_no, row_no, station, member_no, species, form, kg as weight_kg, cast(1 as bigint) as sacks
from live_deliveries;
