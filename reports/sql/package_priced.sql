-- Grain: one row per counted weighing with a price.
select
    sheet_no, row_no, w.member_no, v.paid_kg, v.price_per_kg, v.price_sheet_no, v.price_row_no,
    v.value_minor, v.gbe_kg
from valued as v
join weighings as w using (sheet_no, row_no)
where w.state = 'counted'
order by sheet_no, row_no
