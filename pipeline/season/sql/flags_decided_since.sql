-- Grain: one row per kind that has flags which were decided on, or whose decision was taken back, since the
-- season was last worked out: the sheets of these flags. A finding about many rows may by now stand at
-- another row than the one that was decided on.
with since as (
    select d.flag
    from decisions as d
    anti join seen_decisions as e on e.decision_n = d.decision_n and e.flag = d.flag
    union
    select e.flag
    from seen_decisions as e
    anti join decisions as d on d.decision_n = e.decision_n and d.flag = e.flag
)
select f.kind, list(distinct f.sheet_no) as sheets
from flags as f
inner join since as s on s.flag = f.flag
group by f.kind;
