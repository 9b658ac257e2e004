-- Grain: one row per station, recorder and form whose readings are nearly all the same over many days,
-- at the first of them, beside how often the other recorders of that form read it.
with recorder as (
    select
        station, recorder, form, cast(sum(readings) as bigint) as readings,
        sum(list_max(list_transform(each, lambda e: e.times))) as most
    from moisture_days
    group by station, recorder, form
),
of_form as (
    select form, cast(sum(readings) as bigint) as readings
    from recorder
    group by form
),
-- No reading comes oftener than each day's most frequent one: most recorders need no further look.
likely as (
    select r.*, l.moisture_same_rows, l.moisture_same_share
    from recorder as r
    inner join limits_here as l on l.station = r.station and l.species = '' and l.form = r.form
    where r.readings >= l.moisture_same_rows and r.most * 100 >= l.moisture_same_share * r.readings
),
single as (
    select station, recorder, form, day, unnest(each) as e
    from moisture_days
    where form in (select form from likely)
),
counted as (
    select
        station, recorder, form, e.moisture_pct as moisture_pct, cast(sum(e.times) as bigint) as times,
        count(*) as days, min(e.place) as place
    from single
    group by station, recorder, form, e.moisture_pct
),
shared as (
    select *, cast(sum(times) over (partition by form, moisture_pct) as bigint) as all_of_reading
    from counted
)
select
    sheet_of(s.place) as sheet_no, row_of(s.place) as row_no, s.station, s.recorder, s.form,
    s.times, k.readings, s.days,
    cast(div_half_away((s.all_of_reading - s.times) * 100, f.readings - k.readings) as bigint) as others_pct,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from shared as s
inner join likely as k
    on k.station = s.station and k.recorder is not distinct from s.recorder and k.form = s.form
inner join of_form as f on f.form = s.form
where s.days >= 3 and s.times * 100 >= k.moisture_same_share * k.readings
    -- Where others read it half as often too, the meter shows coarse steps.
    and f.readings - k.readings >= k.moisture_same_rows
    and (s.all_of_reading - s.times) * 200 < k.moisture_same_share * (f.readings - k.readings)
