-- Grain: one row per live weighing: the price of the latest list from on or before its day, its
-- value and its green bean equivalent. No price gives no value.
insert into valued
with price as (
    select from_day, species, form, grade, price_per_kg, sheet_no, row_no
    from prices
    where state = 'counted'
)
select
    w.sheet_no,
    w.row_no,
    p.price_per_kg,
    p.sheet_no as price_sheet_no,
    p.row_no as price_row_no,
    value_minor(w.net_kg, p.price_per_kg, $decimals) as value_minor,
    gbe_kg(w.net_kg, b.per_green) as gbe_kg
from live_weighings as w
asof left join price as p
    on p.species = w.species and p.form = w.form and p.grade = w.grade and p.from_day <= w.day
left join green_basis as b on b.species = w.species and b.form = w.form
order by w.sheet_no, w.row_no;
