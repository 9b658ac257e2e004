-- Grain: what a deduction of $percent percent of a form ($form, null for all) asks of the value of a weighing in `earned`.
case when (e.form <> $form) is not true then percent_minor(e.value_minor, $percent) else 0 end
