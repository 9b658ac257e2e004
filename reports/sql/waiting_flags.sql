-- Grain: one row per open flag that keeps a weighing of these members from being counted.
-- A missing column is flagged once a sheet and keeps every row of it.
select
    f.flag, f.rule, f.severity, f.kind, f.sheet_no, w.row_no, f.col, f.value, f.facts, f.value_hash,
    f.kg_at_stake, f.minor_at_stake, f.decision, f.decision_n, w.member_no
from flags as f
join weighings as w
    on f.sheet_no = w.sheet_no and (f.row_no = w.row_no or f.rule = 'missing-column')
where f.kind = 'weighings' and f.severity <> 'note' and coalesce(f.decision, '') <> 'count'
  and w.state in ('held', 'sent_back') and w.member_no in (select unnest($members::varchar[]))
order by f.sheet_no, w.row_no, f.rule, f.col, f.flag
