-- Grain: what a deduction of one position ($position) that has no target takes of a weighing, in `taken_at_once`.
e.asked_minor[$position]
