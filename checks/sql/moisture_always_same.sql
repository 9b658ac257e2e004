-- Grain: one row per station, recorder and form whose readings are nearly all the same over many days,
-- at the first of them, beside how often the other recorders of that form read it.
with readings as (
    select
        station, recorder, form, moisture_pct, count(*) as times, count(distinct day) as days,
        min(place_of(sheet_no, row_no)) as place
    from weighings
    where state = 'counted' and moisture_pct is not null
    group by station, recorder, form, moisture_pct
),
shared as (
    select
        *,
        sum(times) over (partition by station, recorder, form) as readings,
        sum(times) over (partition by form, moisture_pct) as all_of_reading,
        sum(times) over (partition by form) as all_of_form
    from readings
)
select
    sheet_of(s.place) as sheet_no, row_of(s.place) as row_no, s.station, s.recorder, s.form,
    cast(s.times as bigint) as times, cast(s.readings as bigint) as readings, s.days,
    cast(div_half_away(
        cast(s.all_of_reading - s.times as bigint) * 100, cast(s.all_of_form - s.readings as bigint)
    ) as bigint) as others_pct,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from shared as s
inner join limits_here as l on l.station = s.station and l.species = '' and l.form = s.form
where s.readings >= l.moisture_same_rows and s.days >= 3
    and s.times * 100 >= l.moisture_same_share * s.readings
    -- Where others read it half as often too, the meter shows coarse steps.
    and s.all_of_form - s.readings >= l.moisture_same_rows
    and (s.all_of_reading - s.times) * 200 < l.moisture_same_share * (s.all_of_form - s.readings)
