-- Grain: one row per cell of the kind looked at that exceeds another of its row, which it never can.
-- Filled in from the kind's declaration: $cells, its columns that have such another; $any, whether
-- any of them is off in a row.
select
    c.sheet_no, c.row_no, b.col, b.value, b.other_col, b.other
from live_rows as c,
    lateral (values $cells) as b (col, value, other_col, other, is_off)
where ($any) and b.is_off
