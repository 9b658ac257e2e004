-- Grain: one row per live row of the register of members.
create or replace temp view check_members as
select
    r.*,
    st.name as station_name,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_members as r
left join stations as st on st.station = r.station;
