-- Grain: one row per row of a correction sheet that names no row which waited to be corrected.
select
    c.sheet_no,
    c.row_no,
    '' as col,
    cast(null as varchar) as value
from live_rows as c
inner join looked_at as k on true
inner join fills as f
    on f.kind = k.kind and f.sheet_no = c.sheet_no and f.row_no = c.row_no
    and f.of_sheet_no is null
