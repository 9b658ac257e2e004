-- Grain: one row per day, station, coffee and lot ('' = none) of counted weighings, in grams; what
-- was sorted out after the weight was read and given back is named apart.
select day, station, species, form, lot_no, counted_g, returned_g
from coffee_days
where counted_g is not null
order by all
