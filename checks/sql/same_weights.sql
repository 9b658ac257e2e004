-- Grain: one row per station, recorder, form and net weight that this recorder writes again and again
-- within weeks, at its first weighing. A weight that is common with the other recorders of the form is
-- a standard sack, and no question.
with often as (
    select station, recorder, form, weighings, unnest(again) as s
    from weight_weeks
),
repeated as (
    select
        station, recorder, form, s.net_kg as net_kg,
        cast(sum(s.times) as bigint) as times, cast(sum(weighings) as bigint) as weighings,
        min(s.place) as place, min(s.from_day) as from_day, max(s.to_day) as to_day
    from often
    group by station, recorder, form, s.net_kg
),
all_own as (
    select station, recorder, form, sum(weighings) as times
    from weight_weeks
    group by station, recorder, form
),
all_of_form as (
    select form, sum(times) as times
    from all_own
    group by form
),
-- The weights are few: only theirs are counted with everybody.
everywhere as (
    select w.station, w.recorder, w.form, w.net_kg, count(*) as times
    from weighings as w
    inner join (select distinct form, net_kg from repeated) as p on p.net_kg = w.net_kg and p.form = w.form
    where w.state = 'counted'
    group by w.station, w.recorder, w.form, w.net_kg
),
others as (
    select
        p.station, p.recorder, p.form, p.net_kg,
        sum(e.times) filter (where (e.station, e.recorder) is distinct from (p.station, p.recorder)) as times
    from repeated as p
    inner join everywhere as e on e.form = p.form and e.net_kg = p.net_kg
    group by p.station, p.recorder, p.form, p.net_kg
)
select
    sheet_of(p.place) as sheet_no, row_of(p.place) as row_no, p.station, p.recorder, p.form, p.net_kg, p.times, p.weighings,
    p.from_day, p.to_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from repeated as p
inner join others as o
    on o.station = p.station and o.recorder = p.recorder and o.form = p.form and o.net_kg = p.net_kg
inner join all_of_form as a on a.form = p.form
inner join all_own as ao on ao.station = p.station and ao.recorder = p.recorder and ao.form = p.form
inner join limits_here as l on l.station = p.station and l.species = '' and l.form = p.form
-- Where one recorder weighs all of a form, nobody can tell a sack from a habit.
where a.times - ao.times >= l.digits_rows
    and coalesce(o.times, 0) * 100 < l.sack_share * (a.times - ao.times)
