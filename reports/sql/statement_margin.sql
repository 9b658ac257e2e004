-- Grain: one row per member: the season's margin as member_margin has it, minor units.
select
    member_no, value_minor, visit_rows, weeks_recorded, weeks_recalled, variable_minor, tools_minor, fixed_minor,
    recalled_minor, credit_minor, margin_minor, after_fixed_minor, cost_per_kg, price_per_kg, break_even_price, break_even_kg,
    per_family_day_minor, waiting_rows, held
from member_margin
where member_no in (select unnest($members::varchar[]))
order by member_no
