-- Grain: one row per live payment, beside its member and the day on which that one left.
create or replace temp view check_payments as
with left_by as (
    select member_no, max(left_on) as left_on
    from members
    where state in ('counted', 'held') and left_on is not null
    group by member_no
)
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    g.left_on,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    abs(r.amount_minor) as minor_at_stake
from live_payments as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join stations as st on st.station = r.station
left join known_members as m on m.member_no = r.member_no
left join left_by as g on g.member_no = r.member_no;
