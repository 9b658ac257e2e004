-- Grain: one row per cost of a farm record with the middle cost of the same work in the same zone, among
-- enough members who wrote one down, and its modified z-score on the logarithm.
with paid as (
    select
        f.sheet_no, f.row_no, f.member_no, f.activity, f.cost_minor,
        coalesce(st.station, '') as home, coalesce(st.zone, m.station) as zone, cast(ln(f.cost_minor) as decimal(18, 6)) as ln_cost
    from farm_record as f
    inner join known_members as m on m.member_no = f.member_no
    left join stations as st on st.station = m.station
    where f.state = 'counted' and f.cost_minor > 0
),
peers as (
    select
        zone, activity, count(distinct member_no) as peers,
        cast(median(cost_minor) as bigint) as middle_minor,
        median(ln_cost) as middle_ln, mad(ln_cost) as mad_ln
    from paid
    group by zone, activity
)
select
    p.sheet_no, p.row_no, p.activity, e.peers, e.middle_minor, l.cost_times,
    l.peers_score,
    cast(modified_z(p.ln_cost, e.middle_ln, e.mad_ln) as decimal(14, 2)) as score,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from paid as p
inner join peers as e on e.zone = p.zone and e.activity = p.activity
inner join limits_here as l on l.station = p.home and l.species = '' and l.form = ''
where e.peers >= l.peers_least
    -- The rule asks for both; this one is quickly told.
    and (p.cost_minor > l.cost_times * e.middle_minor or p.cost_minor * l.cost_times < e.middle_minor)
