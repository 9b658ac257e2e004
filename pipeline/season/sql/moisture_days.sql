-- Grain: one row per station, recorder, form and day of counted weighings that were read for moisture, with each of
-- its readings, and the first weighing of all and of each.
insert into moisture_days
with each as (
    select
        station, recorder, form, day, moisture_pct, count(*) as times, min(place_of(sheet_no, row_no)) as place
    from weighings
    where state = 'counted' and moisture_pct is not null
    group by station, recorder, form, day, moisture_pct
)
select
    station, recorder, form, day, cast(sum(times) as bigint) as readings, min(place) as place,
    list({'moisture_pct': moisture_pct, 'times': times, 'place': place} order by moisture_pct) as each
from each
group by station, recorder, form, day
