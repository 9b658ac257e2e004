-- Grain: one row per rule of the table, flagged or not: rows flagged and not settled. The rules come
-- first, since a rule that finds nothing and a rule that did not run must not look alike.
select
    r.rule,
    r.severity,
    count(f.flag) as flagged
from gate_rule as r
left join flags as f on f.rule = r.rule and f.decision is null
group by r.rule, r.severity, r.position
order by r.position
