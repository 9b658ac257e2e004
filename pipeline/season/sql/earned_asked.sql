-- Grain: one row per weighing in `earned`, with what each deduction, in their order, asks of it by its rate ($each:
-- `asked_percent`, …). Of a whole season a view: to work that out where it is read takes less time than to hold it.
create or replace temp $held earned_asked as
select e.*, cast([$each] as bigint[]) as asked_minor
from earned as e
