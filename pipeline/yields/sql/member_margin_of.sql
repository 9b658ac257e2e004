-- Grain: one row: one member's margin, as member_margin has it.
select
    gbe_kg, value_minor, record_rows, visit_rows, weeks_recorded, weeks_recalled, variable_minor, tools_minor,
    fixed_minor, recalled_minor, credit_minor, family_days, hired_days, margin_minor, after_fixed_minor, cost_per_kg,
    price_per_kg, break_even_price, break_even_kg, per_family_day_minor, waiting_rows, held
from member_margin
where member_no = $member
