-- Grain: one row per station, species and form of counted weighings, kilograms: net, at the form's
-- standard moisture (dry forms with a reading; fresh cherry has none), and as green bean equivalent.
-- $station, '' for all.
select
    w.station,
    w.species,
    w.form,
    count(*) as lines,
    cast(sum(w.net_kg) as decimal(14, 3)) as net_kg,
    any_value(l.standard_moisture) as standard_moisture,
    cast(sum(kg_at_moisture(w.net_kg, w.moisture_pct, l.standard_moisture)) as decimal(14, 3))
        as standard_kg,
    cast(coalesce(sum(w.net_kg) filter (
        where w.moisture_pct is null and l.standard_moisture is not null), 0) as decimal(14, 3))
        as unread_kg,
    cast(sum(v.gbe_kg) as decimal(14, 3)) as gbe_kg
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
left join limits_here as l
    on l.species = w.species and l.form = w.form and l.station = w.station
where w.state = 'counted' and $station in ('', w.station)
group by w.station, w.species, w.form
order by w.station, w.species, w.form
