-- Grain: one row per rule and action: how many decisions.
select rule, action, count(*) as decisions
from decisions
group by rule, action
order by rule, decisions desc, action
