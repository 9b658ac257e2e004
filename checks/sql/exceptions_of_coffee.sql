-- Grain: one row per row that following the coffee set aside ($codes, the rules of that stage) and that
-- has no state yet. Such a row counted until then, so it has no other state.
insert into exceptions
select
    f.kind,
    f.sheet_no,
    f.row_no,
    min(cast(case
        when f.decision = 'leave-out' then 'left_out'
        when f.severity = 'send_back' then 'sent_back'
        else 'held'
    end as row_state)) as state,
    true as aside
from flags as f
anti join exceptions as e
    on e.kind = f.kind and e.sheet_no = f.sheet_no and e.row_no = f.row_no
where list_contains($codes, f.rule) and f.decision is distinct from 'count'
    and f.severity <> 'note'
group by f.kind, f.sheet_no, f.row_no
order by f.kind, f.sheet_no, f.row_no;
