-- Grain: one row per flag of the season, with its sheet and, where it is decided, the decision.
-- $begins: only flags whose numbers begin with one of these, null for all.
-- amended: somebody amended the very cell, so that it no longer holds what the sheet says.
with amended as (
    select distinct kind, sheet_no, row_no, col
    from decisions
    where action = 'amend'
)
select
    f.flag,
    f.rule,
    f.severity,
    f.kind,
    f.sheet_no,
    f.row_no,
    f.row_key,
    f.col,
    f.value,
    cast(f.facts as varchar) as facts,
    f.value_hash,
    f.measure,
    f.holds_to,
    f.kg_at_stake,
    f.minor_at_stake,
    f.decision,
    s.name as sheet,
    s.sha256,
    s.part,
    s.station,
    s.week,
    cast(s.headings as varchar) as headings,
    d.because,
    d.decided_by,
    d.decided_at,
    a.col is not null as amended
from flags as f
inner join sheets as s on s.sheet_no = f.sheet_no
left join decisions as d on d.decision_n = f.decision_n and d.flag = f.flag
left join amended as a
    on a.kind = f.kind and a.sheet_no = f.sheet_no and a.row_no = f.row_no and a.col = f.col
where $begins is null
    or list_bool_or(list_transform(cast($begins as varchar[]), lambda one: starts_with(f.flag, one)))
order by f.flag
