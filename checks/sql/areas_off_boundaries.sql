-- Grain: one row per plot whose area is not what its boundary encloses. Most plots have no boundary, and the formula that
-- measures one is long: a view that had it would be slow to plan.
select r.sheet_no, r.row_no, b.boundary_ha
from (
    select sheet_no, row_no, boundary_ha(boundary) as boundary_ha
    from live_rows
    where boundary is not null
) as b
inner join check_rows as r on r.sheet_no = b.sheet_no and r.row_no = b.row_no
where abs(r.area_ha - b.boundary_ha) * 100 > r.boundary_apart * b.boundary_ha
