-- Grain: one row per station, species and form of one book's season: counted receipts and coffee.
select
    w.station,
    w.species,
    w.form,
    count(*) as lines,
    count(distinct (w.receipt_book, w.receipt_no)) as receipts,
    cast(sum(w.net_kg) as decimal(18, 3)) as net_kg,
    cast(coalesce(sum(v.gbe_kg), 0) as decimal(18, 3)) as gbe_kg,
    cast(coalesce(sum(v.value_minor), 0) as bigint) as value_minor
from weighings as w
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted'
group by w.station, w.species, w.form
order by w.station, w.species, w.form
