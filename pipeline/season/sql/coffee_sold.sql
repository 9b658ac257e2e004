-- Grain: one row per counted line of a sale, in grams; station and lot '' where none is given.
select
    sheet_no,
    row_no,
    day,
    coalesce(station, '') as station,
    species,
    form,
    coalesce(lot_no, '') as lot_no,
    grams(net_kg) as grams
from sales
where state = 'counted'
order by sheet_no, row_no
