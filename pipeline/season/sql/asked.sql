-- Grain: what the deduction of one position ($position) asks of a weighing by its rate, in `earned`.
case
    when (r.form[$position] <> w.form) is not true then coalesce(
        percent_minor(w.value_minor, r.percent[$position]),
        per_kg_minor(w.net_kg, r.per_kg[$position], $decimals),
        0
    )
    else 0
end
