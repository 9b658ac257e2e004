-- Grain: what a share contribution of one position ($position) takes of a weighing of a month in which no target is
-- reached, in `taken_at_once`.
up_to_target(r.beyond[$position], e.asked_minor[$position])
