-- Grain: one row per weighing in `earned` of the members in `waits`, after all deductions.
insert into settlements
select
    member_no, day, sheet_no, row_no, value_minor,
    list_resize(taken_minor, (select count(*) from deductions), 0)
from earned
