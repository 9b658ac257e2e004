-- Grain: one row per live row of the members' own records, beside the station's receipt: the one it
-- names, else the only one the station wrote that day for this member and coffee.
create or replace temp view check_deliveries as
with receipt as (
    select station, receipt_book, receipt_no, sum(net_kg) as receipt_kg
    from live_weighings
    group by station, receipt_book, receipt_no
),
only_receipt as (
    select station, day, member_no, species, form, sum(net_kg) as receipt_kg
    from live_weighings
    group by station, day, member_no, species, form
    having count(distinct (receipt_book, receipt_no)) = 1
),
only_record as (
    select station, day, member_no, species, form
    from live_deliveries
    group by station, day, member_no, species, form
    having count(*) = 1
)
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(coalesce(c.receipt_kg, o.receipt_kg) as decimal(14, 3)) as receipt_kg,
    l.* exclude (species, form, station),
    cast(abs(r.kg - coalesce(c.receipt_kg, o.receipt_kg)) as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_deliveries as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join stations as st on st.station = r.station
left join receipt as c
    on c.station = r.station and c.receipt_book = r.receipt_book and c.receipt_no = r.receipt_no
left join only_record as a
    on r.receipt_no is null and a.station = r.station and a.day = r.day
    and a.member_no = r.member_no and a.species = r.species and a.form = r.form
left join only_receipt as o
    on o.station = a.station and o.day = a.day
    and o.member_no = a.member_no and o.species = a.species and o.form = a.form
left join limits_here as l
    on l.species = coalesce(r.species, '') and l.form = coalesce(r.form, '')
    and l.station = case when st.station is null then '' else r.station end;
