-- Grain: one row per row that was decided on, or whose decision was taken back, since the season was last
-- worked out.
select distinct d.kind, d.sheet_no, d.row_no
from decisions as d
anti join seen_decisions as e on e.decision_n = d.decision_n and e.flag = d.flag
union
select e.kind, e.sheet_no, e.row_no
from seen_decisions as e
anti join decisions as d on d.decision_n = e.decision_n and d.flag = e.flag
