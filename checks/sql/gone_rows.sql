-- Grain: one row per live row that a later version of its sheet no longer has.
select
    c.sheet_no,
    c.row_no,
    '' as col,
    cast(null as varchar) as value,
    s.name as by_sheet
from live_rows as c
inner join looked_at as k on true
inner join succession as g
    on g.kind = k.kind and g.sheet_no = c.sheet_no and g.row_no = c.row_no and g.by_row_no is null
inner join sheets as s on s.sheet_no = g.by_sheet_no
