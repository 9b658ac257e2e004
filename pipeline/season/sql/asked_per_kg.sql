-- Grain: what a deduction of $per_kg a kilogram of a form ($form, null for all) asks of a weighing in `earned`.
case when (e.form <> $form) is not true then per_kg_minor(e.net_kg, $per_kg, $decimals) else 0 end
