-- Grain: one row per day, station, lot ('' = none) and form whose stacks were weighed or counted, in
-- grams, at the last of its rows.
select
    max((sheet_no, row_no))[1] as sheet_no,
    max((sheet_no, row_no))[2] as row_no,
    day,
    station,
    form,
    coalesce(lot_no, '') as lot_no,
    cast(sum(grams(counted_kg)) as bigint) as grams
from store_checks
where state = 'counted' and counted_kg is not null and form is not null
group by day, station, form, coalesce(lot_no, '')
order by sheet_no, row_no
