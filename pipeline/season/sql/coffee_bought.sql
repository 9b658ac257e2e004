-- Grain: one row per day, station, coffee and lot ('' = none) of counted weighings, in grams; what
-- was sorted out after the weight was read and given back is named apart.
select
    day,
    station,
    species,
    form,
    coalesce(lot_no, '') as lot_no,
    cast(sum(grams(net_kg)) as bigint) as grams,
    cast(coalesce(sum(
        least(grams(coalesce(floaters_kg, 0)) + grams(coalesce(rejects_kg, 0)), grams(net_kg))
    ) filter (
        where rejects_taken = 'after_weighing' and rejects_treatment = 'returned'
    ), 0) as bigint) as returned_g
from weighings
where state = 'counted'
group by all
order by all
