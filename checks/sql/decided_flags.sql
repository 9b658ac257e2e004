-- Grain: one row per flag of a kind ($kind, null for all) whose latest decision is another than is noted: it
-- settles the flag; without one the flag is open. A decision holds as long as what it judged is the same and,
-- for a finding that has a measure, has not grown beyond what the decision holds to.
update flags
set decision = s.action, decision_n = s.decision_n
from (
    select f.rowid as place, max_by(d.action, d.decision_n) as action, max(d.decision_n) as decision_n
    from flags as f
    left join decisions as d
        on d.flag = f.flag and d.value_hash = f.value_hash
        and (d.holds_to is null or f.measure <= d.holds_to)
    where ($kind is null or f.kind = $kind)
        and (f.decision_n is not null or f.flag in (select flag from decisions))
    group by f.rowid
    having any_value(f.decision_n) is distinct from max(d.decision_n)
) as s
where flags.rowid = s.place
returning flags.kind, flags.sheet_no;
