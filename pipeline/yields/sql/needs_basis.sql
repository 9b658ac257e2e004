-- Grain: one row: what a kilogram of green is as fresh cherry, what a picker brings in a day and a square
-- metre of drying space takes, kg of cherry; and what a kilogram of green was paid for first, minor units.
select
    coalesce(
        (select min(cherry_per_green) from limits_here where species <> '' and form = 'fresh_cherry' and station = ''
            and species in (select species from member_coffee)),
        6
    ) as cherry_per_green,
    l.picking_kg_day, l.drying_kg_per_m2,
    (select cast(sum(value_minor) as double) / nullif(cast(sum(gbe_kg) as double), 0) from member_coffee)
        as minor_per_kg
from (select * from limits_here where station = '' and species = '' and form = '') as l
