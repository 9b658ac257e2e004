-- Grain: one row per weighing in `earned`, after one deduction more ($position).
create or replace temp table earned as
select
    member_no, position, day, sheet_no, row_no, form, net_kg, value_minor, premium_minor,
    left_minor - taken_minor as left_minor
from step
where kind = 'weighings'
union all
select * from earned where position > $position
