-- Grain: one row per weighing in `earned`, after one deduction more ($position).
create or replace temp table earned as
select
    e.* replace (
        case
            when s.taken_minor is null then e.taken_minor
            else list_append(list_resize(e.taken_minor, $position - 1, 0), s.taken_minor)
        end as taken_minor,
        e.left_minor - coalesce(s.taken_minor, 0) as left_minor
    )
from earned as e
left join step as s on s.kind = 'weighings' and s.sheet_no = e.sheet_no and s.row_no = e.row_no
