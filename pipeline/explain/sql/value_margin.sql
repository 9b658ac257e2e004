-- Grain: one row: what coffee, costs and work of one member ($member) come to, and why no margin is shown.
select
    value_minor, gbe_kg, variable_minor, fixed_minor, family_days, margin_minor, after_fixed_minor,
    cost_per_kg, price_per_kg, break_even_price, break_even_kg, per_family_day_minor, held
from member_margin
where member_no = $member
