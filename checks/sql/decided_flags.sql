-- Grain: one row per flag that the latest decision on it, on the same value, settles.
update flags
set decision = d.action, decision_n = d.decision_n
from (
    select flag, value_hash, max_by(action, decision_n) as action, max(decision_n) as decision_n
    from decisions
    group by flag, value_hash
) as d
where d.flag = flags.flag and d.value_hash = flags.value_hash and flags.decision is null;
