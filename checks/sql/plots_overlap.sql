-- Grain: one row per plot whose boundary lies over that of a plot that was sent in before it.
select r.*, o.* exclude (sheet_no, row_no)
from plot_overlaps as o
inner join check_rows as r on r.sheet_no = o.sheet_no and r.row_no = o.row_no
