-- Grain: what a share contribution of one position ($position) takes of a weighing of a month in which a target is
-- reached, in `taken_at_once`.
up_to_target(
    r.beyond[$position] + cast(coalesce(sum(e.asked_minor[$position]) over before, 0) as bigint),
    e.asked_minor[$position]
)
