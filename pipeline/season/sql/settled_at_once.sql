-- Grain: one row per weighing of the members of whom no deduction waits.
insert into settlements
select member_no, day, sheet_no, row_no, value_minor, taken_minor
from taken_at_once(false)
