-- Grain: one row per flag of a kind ($kind) whose latest decision, on the same value, is another than is
-- noted: it settles the flag; without one the flag is open.
update flags
set decision = s.action, decision_n = s.decision_n
from (
    select f.flag, d.action, d.decision_n
    from flags as f
    left join (
        select flag, value_hash, max_by(action, decision_n) as action, max(decision_n) as decision_n
        from decisions
        group by flag, value_hash
    ) as d on d.flag = f.flag and d.value_hash = f.value_hash
    where f.kind = $kind and f.decision_n is distinct from d.decision_n
) as s
where flags.flag = s.flag;
