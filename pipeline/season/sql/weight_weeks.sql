-- Grain: one row per station, recorder, form and week of counted weighings: how many there were, and the
-- weights that are so many and so large a share of them that they may be written by habit, each at its first.
insert into weight_weeks
with weekly as (
    select
        station, recorder, form, net_kg, cast(date_trunc('week', day) as date) as week,
        count(*) as times, min(place_of(sheet_no, row_no)) as place, min(day) as from_day, max(day) as to_day
    from weighings
    where state = 'counted' and net_kg > 0
    group by station, recorder, form, net_kg, week
),
of_week as (
    select station, recorder, form, week, cast(sum(times) as bigint) as weighings
    from weekly
    group by station, recorder, form, week
),
again as (
    select w.station, w.recorder, w.form, w.week, list({
        'net_kg': w.net_kg, 'times': w.times, 'place': w.place, 'from_day': w.from_day, 'to_day': w.to_day
    } order by w.net_kg) as weights
    from weekly as w
    inner join of_week as o
        on o.station = w.station and o.recorder = w.recorder and o.form = w.form and o.week = w.week
    inner join limits_here as l on l.station = w.station and l.species = '' and l.form = w.form
    where w.times >= l.same_weight_rows and w.times * 100 >= l.same_weight_share * o.weighings
    group by w.station, w.recorder, w.form, w.week
)
select o.station, o.recorder, o.form, o.week, o.weighings, coalesce(a.weights, []) as again
from of_week as o
left join again as a
    on a.station = o.station and a.recorder = o.recorder and a.form = o.form and a.week = o.week
