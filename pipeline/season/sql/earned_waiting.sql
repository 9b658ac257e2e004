-- Grain: one row per weighing in `earned` of the members in `waits`, with what each deduction asks of it, the first
-- deduction that may wait (position), what those before it took, and what is left.
create or replace temp table earned as
select
    member_no, position, day, sheet_no, row_no, value_minor, coalesce(premium_minor, 0) as premium_minor, asked_minor,
    taken_minor[:position - 1] as taken_minor,
    case when premium_minor is null then value_minor else greatest(value_minor + premium_minor, 0) end
        - cast(coalesce(list_sum(taken_minor[:position - 1]), 0) as bigint) as left_minor
from taken_at_once(true)
