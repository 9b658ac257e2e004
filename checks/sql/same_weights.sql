-- Grain: one row per station, recorder, form and net weight that this recorder writes again and again
-- within weeks, at its first weighing. A weight that is common with the other recorders of the form is
-- a standard sack, and no question.
with weighed as (
    select
        station, recorder, form, net_kg, date_trunc('week', day) as week,
        count(*) as times, min((sheet_no, row_no)) as place, min(day) as from_day, max(day) as to_day
    from weighings
    where state = 'counted' and net_kg > 0
    group by station, recorder, form, net_kg, date_trunc('week', day)
),
shared as (
    select *, sum(times) over (partition by station, recorder, form, week) as of_week
    from weighed
),
everywhere as (
    select form, net_kg, sum(times) as times
    from weighed
    group by form, net_kg
),
all_of_form as (
    select form, sum(times) as times
    from weighed
    group by form
),
own as (
    select station, recorder, form, net_kg, sum(times) as times
    from weighed
    group by station, recorder, form, net_kg
),
all_own as (
    select station, recorder, form, sum(times) as times
    from weighed
    group by station, recorder, form
),
repeated as (
    select
        s.station, s.recorder, s.form, s.net_kg,
        cast(sum(s.times) as bigint) as times,
        cast(sum(s.of_week) as bigint) as weighings,
        min(s.place) as place, min(s.from_day) as from_day, max(s.to_day) as to_day
    from shared as s
    inner join limits_here as l on l.station = s.station and l.species = '' and l.form = s.form
    where s.times >= l.same_weight_rows and s.times * 100 >= l.same_weight_share * s.of_week
    group by s.station, s.recorder, s.form, s.net_kg
)
select
    r.sheet_no, r.row_no, r.row_key, p.station, p.recorder, p.form, p.net_kg, p.times, p.weighings,
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
inner join live_rows as r on r.sheet_no = p.place[1] and r.row_no = p.place[2]
-- Where one recorder weighs all of a form, nobody can tell a sack from a habit.
where a.times - ao.times >= l.digits_rows
    and (e.times - o.times) * 100 < l.sack_share * (a.times - ao.times)
