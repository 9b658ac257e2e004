-- Grain: one row per flag of a kind ($kind, null for all) whose latest decision is another than is noted: it
-- settles the flag; without one the flag is open. A decision holds as long as what it judged is the same and,
-- for a finding that has a measure, has not grown beyond what the decision holds to.
update flags
set decision = s.action, decision_n = s.decision_n
from (
    select place, max_by(action, decision_n) as action, max(decision_n) as decision_n
    from (
        select f.rowid as place, f.decision_n as noted_n, d.action, d.decision_n
        from flags as f
        inner join decisions as d
            on d.flag = f.flag and d.value_hash = f.value_hash
            and (d.holds_to is null or f.measure <= d.holds_to)
        where $kind is null or f.kind = $kind
        union all
        -- What was noted, and may hold no more.
        select rowid as place, decision_n as noted_n, null as action, null as decision_n
        from flags
        where decision_n is not null and ($kind is null or kind = $kind)
    ) as holding
    group by place
    having any_value(noted_n) is distinct from max(decision_n)
) as s
where flags.rowid = s.place
returning flags.kind, flags.sheet_no;
