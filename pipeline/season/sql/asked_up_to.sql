-- Grain: what a share contribution of one position ($position) takes of a weighing up to its target, in
-- `taken_at_once`.
cast(
    least(coalesce(sum(s.asked_minor[$position]) over before, 0) + s.asked_minor[$position], t.target[$position])
        - least(coalesce(sum(s.asked_minor[$position]) over before, 0), t.target[$position])
    as bigint
)
