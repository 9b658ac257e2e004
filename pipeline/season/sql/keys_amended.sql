-- Grain: one row per decision since the season was last worked out that amends one of some columns ($keys).
select d.decision_n
from decisions as d
anti join seen_decisions as e on e.decision_n = d.decision_n and e.flag = d.flag
where d.action = 'amend' and list_contains($keys, d.col)
