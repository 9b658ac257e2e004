-- Grain: one row per moisture meter: its station, its method and how far off it may read.
select
    m.meter,
    m.station,
    m.method,
    l.meter_tolerance,
    l.meter_tolerance_least
from meters as m
inner join limits_here as l on l.station = m.station and l.species = '' and l.form = ''
order by m.station, m.meter
