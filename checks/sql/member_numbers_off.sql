-- Grain: one row per member whose number fails its check digit.
select c.sheet_no, c.row_no
from live_rows as c
inner join numbers_off as n on n.member_no = c.member_no
