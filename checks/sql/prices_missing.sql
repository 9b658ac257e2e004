-- Grain: one row per live weighing that no price list in force has a price for.
select v.sheet_no, v.row_no
from valued as v
inner join live_rows as r on r.sheet_no = v.sheet_no and r.row_no = v.row_no
where v.price_per_kg is null
