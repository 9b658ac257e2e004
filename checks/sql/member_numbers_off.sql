-- Grain: one row per member whose number fails its check digit.
select c.*
from check_rows as c
inner join numbers_off as n on n.member_no = c.member_no
