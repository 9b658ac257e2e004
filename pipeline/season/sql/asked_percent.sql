-- Grain: what the deduction of one position ($position) asks of a weighing's value, in `earned`.
case
    when (r.form[$position] <> w.form) is not true then percent_minor(w.value_minor, r.percent[$position])
    else 0
end
