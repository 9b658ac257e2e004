-- Grain: one row per station, recorder, form and net weight that this recorder writes again and again
-- within weeks, at its first weighing. A weight that is common with the other recorders of the form is
-- a standard sack, and no question.
with weekly as (
    select
        station, recorder, form, net_kg, date_trunc('week', day) as week,
        count(*) as times, min(place_of(sheet_no, row_no)) as place, min(day) as from_day, max(day) as to_day
    from weighings
    where state = 'counted' and net_kg > 0
    group by station, recorder, form, net_kg, week
),
often as (
    select *
    from weekly
    where times >= (select min(same_weight_rows) from limits_here)
),
of_week as (
    select station, recorder, form, week, sum(times) as times
    from weekly
    group by station, recorder, form, week
),
own as (
    select station, recorder, form, net_kg, sum(times) as times
    from weekly
    group by station, recorder, form, net_kg
),
all_own as (
    select station, recorder, form, sum(times) as times
    from own
    group by station, recorder, form
),
everywhere as (
    select form, net_kg, sum(times) as times
    from own
    group by form, net_kg
),
all_of_form as (
    select form, sum(times) as times
    from own
    group by form
),
repeated as (
    select
        s.station, s.recorder, s.form, s.net_kg,
        cast(sum(s.times) as bigint) as times,
        cast(sum(w.times) as bigint) as weighings,
        min(s.place) as place, min(s.from_day) as from_day, max(s.to_day) as to_day
    from often as s
    inner join of_week as w
        on w.station = s.station and w.recorder = s.recorder and w.form = s.form and w.week = s.week
    inner join limits_here as l on l.station = s.station and l.species = '' and l.form = s.form
    where s.times >= l.same_weight_rows and s.times * 100 >= l.same_weight_share * w.times
    group by s.station, s.recorder, s.form, s.net_kg
)
select
    sheet_of(p.place) as sheet_no, row_of(p.place) as row_no, p.station, p.recorder, p.form, p.net_kg, p.times, p.weighings,
    p.from_day, p.to_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from repeated as p
inner join everywhere as e on e.form = p.form and e.net_kg = p.net_kg
inner join all_of_form as a on a.form = p.form
inner join own as o
    on o.station = p.station and o.recorder = p.recorder and o.form = p.form and o.net_kg = p.net_kg
inner join all_own as ao on ao.station = p.station and ao.recorder = p.recorder and ao.form = p.form
inner join limits_here as l on l.station = p.station and l.species = '' and l.form = p.form
-- Where one recorder weighs all of a form, nobody can tell a sack from a habit.
where a.times - ao.times >= l.digits_rows
    and (e.times - o.times) * 100 < l.sack_share * (a.times - ao.times)
