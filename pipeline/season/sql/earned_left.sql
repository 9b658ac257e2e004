-- Grain: one row per weighing whose money is worked out, after one deduction more.
create or replace temp table earned as
select
    member_no, day, sheet_no, row_no, form, net_kg, value_minor, premium_minor,
    left_minor - taken_minor as left_minor
from step
where kind = 'weighings'
