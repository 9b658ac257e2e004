-- Grain: one row per live row of the price list, beside the middle price of the same coffee.
create or replace temp view check_prices as
with middle as (
    select species, form, grade, median(cast(price_per_kg as decimal(18, 6))) as middle_price
    from live_prices
    where price_per_kg > 0
    group by species, form, grade
)
select
    r.*,
    cast(m.middle_price as decimal(14, 4)) as middle_price,
    l.* exclude (species, form, station),
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_prices as r
left join middle as m on m.species = r.species and m.form = r.form and m.grade = r.grade
left join limits_here as l
    on l.species = coalesce(r.species, '') and l.form = coalesce(r.form, '') and l.station = '';
