-- Grain: what the deduction of one position ($position) asks of each kilogram of a weighing, in `earned`.
case
    when (r.form[$position] <> w.form) is not true then per_kg_minor(w.net_kg, r.per_kg[$position], $decimals)
    else 0
end
