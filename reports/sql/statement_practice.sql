-- Grain: one row per member: what the season's rows say about drying, pruning and spraying.
with asked as (select unnest($members::varchar[]) as member_no),
readings as (
    select
        member_no, count(*) as readings,
        count(*) filter (moisture_pct > $moisture_most) as wet_readings
    from weighings
    where state = 'counted' and moisture_pct is not null and form <> 'fresh_cherry'
      and member_no in (select member_no from asked)
    group by member_no
),
done as (
    select
        member_no,
        count(*) filter (activity = 'pruning') as pruning_rows,
        count(*) filter (activity in ('mulching', 'manuring')) as feeding_rows,
        count(*) filter (activity = 'spraying') as spraying_rows
    from farm_record
    where state = 'counted' and member_no in (select member_no from asked)
    group by member_no
)
select
    asked.member_no, coalesce(readings.readings, 0) as readings,
    coalesce(readings.wet_readings, 0) as wet_readings,
    coalesce(done.pruning_rows, 0) as pruning_rows, coalesce(done.feeding_rows, 0) as feeding_rows,
    coalesce(done.spraying_rows, 0) as spraying_rows
from asked
left join readings using (member_no)
left join done using (member_no)
order by asked.member_no
