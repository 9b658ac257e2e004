-- Grain: one row per day, or year, of the kind looked at that is later than its sheet came in.
-- Filled in from the kind's declaration: $cells, its columns that hold what is past; $any, whether
-- any of them is off in a row.
select
    c.sheet_no, c.row_no, b.col, b.value, b.value as day, s.taken_day
from live_rows as c
inner join sheets as s on s.sheet_no = c.sheet_no,
    lateral (values $cells) as b (col, value, is_off)
where ($any) and b.is_off
