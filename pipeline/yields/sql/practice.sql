-- Grain: one row per member and practice of which something is known: whether it is done, and by what. What
-- a trainer saw on a visit goes before what records, counts and scales say; silence of a member who keeps
-- a farm record is no, silence of one who keeps none says nothing.
with record as (
    select
        member_no, count(*) as entries,
        count(*) filter (activity = 'pruning') as pruning,
        count(*) filter (activity = 'mulching') as mulching,
        count(*) filter (activity = 'manuring') as manuring
    from farm_record
    where state = 'counted'
    group by member_no
),
largest as (
    select
        member_no,
        max_by(wood, (trees_bearing, plot_no)) as wood
    from block_yield
    where plot_no <> '' and age >= 7 and wood <> 'stumped'
    group by member_no
),
stands as (
    select
        member_no,
        max_by(stems, (trees, plot_no)) filter (stems is not null) as stems,
        max_by(cast(shade as varchar), (trees, plot_no)) filter (shade is not null) as shade
    from (
        select * from plots
        where state = 'counted'
        qualify row_number() over (
            partition by member_no, plot_no order by counted_on desc, sheet_no desc, row_no desc
        ) = 1
    )
    group by member_no
),
weighed as (
    select
        w.member_no,
        avg(w.ripe_pct) as ripe_pct,
        count(w.moisture_pct) filter (w.form <> 'fresh_cherry') as readings,
        count(*) filter (w.form <> 'fresh_cherry' and w.moisture_pct > l.moisture_safe_high) as wet
    from weighings as w
    left join limits_here as l on l.station = w.station and l.species = w.species and l.form = w.form
    where w.state = 'counted'
    group by w.member_no
),
tested as (
    select member_no, count(*) filter (soil_ph is not null or soil_test is not null) as tests
    from visits
    where state = 'counted'
    group by member_no
),
known as (
    select l.member_no, 'pruning' as practice,
        case when l.wood = 'renewed' then true when l.wood = 'overdue' or r.entries > 0 then false end as does,
        'trees and farm record' as by
    from largest as l left join record as r on r.member_no = l.member_no
    union all
    select member_no, 'stems', stems between 2 and 3, 'trees' from stands where stems is not null
    union all
    select member_no, 'shade', shade <> 'none', 'trees' from stands where shade is not null
    union all
    select member_no, 'mulch', mulching > 0, 'farm record' from record
    union all
    select member_no, 'manure', manuring > 0, 'farm record' from record
    union all
    select w.member_no, 'ripe_picking', w.ripe_pct >= l.ripe_good, 'weighings'
    from weighed as w
    cross join (select ripe_good from limits_here where station = '' and species = '' and form = '') as l
    where w.ripe_pct is not null
    union all
    select member_no, 'drying', wet = 0, 'weighings' from weighed where readings > 0
    union all
    select member_no, 'soil_test', tests > 0, 'visits' from tested
),
seen as (
    select
        member_no, cast(practice as varchar) as practice,
        max_by(practice_seen = 'yes', (day, sheet_no, row_no)) as does
    from visits
    where state = 'counted' and practice is not null and practice_seen is not null
    group by member_no, practice
)
select
    coalesce(s.member_no, k.member_no) as member_no,
    coalesce(s.practice, k.practice) as practice,
    coalesce(s.does, k.does) as does,
    case when s.does is not null then 'visits' else k.by end as by
from (select * from known where does is not null) as k
full join seen as s on s.member_no = k.member_no and s.practice = k.practice
order by practice, member_no
