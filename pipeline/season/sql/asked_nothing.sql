-- Grain: what a deduction that goes by no rate asks of a weighing in `earned`.
cast(0 as bigint)
