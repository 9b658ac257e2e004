-- Grain: one row per row of a farm record whose cost, or whose family's days of work, are many times from
-- the middle of the same work's rows in the same zone, among enough members who wrote such down; each with
-- its modified z-score: of costs on the logarithm, of days as they are; none where more than half are alike.
with done as (
    select
        f.sheet_no, f.row_no, f.member_no, f.activity,
        coalesce(st.station, '') as home, coalesce(st.zone, m.station) as zone,
        case when f.cost_minor > 0 then f.cost_minor end as cost_minor,
        case when f.family_days > 0 then cast(f.family_days as decimal(18, 6)) end as family_days
    from farm_record as f
    inner join known_members as m on m.member_no = f.member_no
    left join stations as st on st.station = m.station
    where f.state = 'counted' and (f.cost_minor > 0 or f.family_days > 0)
),
peers as (
    select
        zone, activity,
        cast(median(cost_minor) as bigint) as middle_minor,
        cast(median(family_days) as decimal(14, 2)) as middle_days
    from done
    group by zone, activity
),
-- What lies beyond these is far, in whole minor units and in days.
edge as (
    select
        p.*, l.station as home, l.peers_score, l.peers_least, l.cost_times, l.labour_times,
        cast(floor(l.cost_times * p.middle_minor) as bigint) as over_minor,
        (p.middle_minor * 10000 + cast(l.cost_times * 10000 as bigint) - 1)
            // cast(l.cost_times * 10000 as bigint) as under_minor,
        cast(l.labour_times * p.middle_days as decimal(18, 6)) as over_days
    from peers as p
    cross join limits_here as l
    where l.species = '' and l.form = ''
),
-- Most rows are not far from the middle of any work, and need no look at that of their own.
doubtful as (
    select d.*
    from done as d
    cross join (
        select min(over_minor) as over_minor, max(under_minor) as under_minor, min(over_days) as over_days
        from edge
    ) as e
    where d.cost_minor > e.over_minor or d.cost_minor < e.under_minor or d.family_days > e.over_days
),
far as (
    select
        d.sheet_no, d.row_no, d.zone, d.activity, d.cost_minor, d.family_days, e.* exclude (zone, activity, home),
        d.cost_minor > e.over_minor or d.cost_minor < e.under_minor as cost_far,
        d.family_days > e.over_days as days_far
    from doubtful as d
    inner join edge as e on e.home = d.home and e.zone = d.zone and e.activity = d.activity
    where d.cost_minor > e.over_minor or d.cost_minor < e.under_minor or d.family_days > e.over_days
),
-- Members are counted, and how far their rows lie apart, only for the few works that anything is far from.
writers as (
    select
        zone, activity,
        median(cast(ln(cost_minor) as decimal(18, 6))) as cost_ln,
        mad(cast(ln(cost_minor) as decimal(18, 6))) as cost_mad, mad(family_days) as days_mad,
        count(distinct case when cost_minor is not null then member_no end) as cost_peers,
        count(distinct case when family_days is not null then member_no end) as days_peers
    from done
    inner join (select distinct zone, activity from far) using (zone, activity)
    group by zone, activity
)
select
    f.sheet_no, f.row_no, f.activity, f.peers_score, f.cost_times, w.cost_peers, f.middle_minor,
    cast(modified_z(cast(ln(f.cost_minor) as decimal(18, 6)), w.cost_ln, w.cost_mad) as decimal(14, 2)) as cost_score,
    f.cost_far and w.cost_peers >= f.peers_least as cost_far,
    f.labour_times, w.days_peers, f.middle_days,
    cast(modified_z(f.family_days, f.middle_days, w.days_mad) as decimal(14, 2)) as days_score,
    f.days_far and w.days_peers >= f.peers_least as days_far,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from far as f
inner join writers as w on w.zone = f.zone and w.activity = f.activity
