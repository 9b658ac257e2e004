-- Grain: one row per live payment.
create or replace temp view check_payments as
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    abs(r.amount_minor) as minor_at_stake
from live_payments as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join stations as st on st.station = r.station
left join known_members as m on m.member_no = r.member_no;
