-- Grain: one row per live weighing whose receipt says another price than the list in force.
select r.sheet_no, r.row_no
from live_rows as r
inner join valued as v on v.sheet_no = r.sheet_no and v.row_no = r.row_no
where r.price_written <> v.price_per_kg
