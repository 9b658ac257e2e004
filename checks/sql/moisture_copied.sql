-- Grain: one row per station, recorder and form with days on which every reading is the same, though it
-- is seldom that reading on the recorder's other days; at the first row of the first such day.
-- `by_chance`: how likely the others of a day's readings are all like the first, from the other days' share
-- of that reading, for all days looked at (Bonferroni).
with looked as (
    select
        w.station, w.recorder, w.form, w.day, w.readings as times, w.place, w.each, count(*) over () as looks
    from moisture_days as w
    inner join limits_here as l on l.station = w.station and l.species = '' and l.form = w.form
    where w.readings >= l.moisture_copied_rows
),
-- Few days have one reading alone: what is read on others is added up for these recorders only.
alike as (
    select
        w.station, w.recorder, w.form, w.day, w.each[1].moisture_pct as moisture_pct, w.times, w.place, w.looks,
        sum(d.readings) as readings,
        sum(list_sum(list_transform(
            d.each, lambda e: case when e.moisture_pct = w.each[1].moisture_pct then e.times else 0 end
        ))) as of_reading
    from looked as w
    inner join moisture_days as d
        on d.station = w.station and d.recorder is not distinct from w.recorder and d.form = w.form
    where len(w.each) = 1
    group by all
),
copied as (
    select
        *,
        -- One more of each: where there is no other day nothing is unlikely.
        looks * pow(
            cast(of_reading - times + 1 as double) / cast(readings - times + 1 as double),
            cast(times - 1 as double)
        ) as by_chance
    from alike
),
grouped as (
    select
        station, recorder, form, count(*) as days, cast(sum(times) as bigint) as times,
        min(place) as place, min_by(moisture_pct, place) as first_pct, min(day) as first_copied
    from copied
    where by_chance < 0.01
    group by station, recorder, form
)
select
    sheet_of(g.place) as sheet_no, row_of(g.place) as row_no, g.station, g.recorder, g.form, g.days, g.times,
    g.first_pct, g.first_copied,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from grouped as g
