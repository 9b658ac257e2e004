-- Grain: one row per cell of the kind looked at that holds less or more than its column ever can.
-- Filled in from the kind's declaration: $cells, its columns that have bounds; $any, whether any of
-- them is broken in a row.
select
    c.sheet_no, c.row_no, b.col, b.value, b.least, b.above, b.most
from live_rows as c,
    lateral (values $cells) as b (col, value, least, above, most, is_off)
where ($any) and b.is_off
