-- Grain: one row per row of the kind looked at that is not counted, with the one state it is in.
-- Of several reasons the strongest holds: replaced, left out, sent back, held.
insert into exceptions
with reason as (
    select g.kind, g.sheet_no, g.row_no, 1 as strength, 'replaced' as state
    from succession as g
    inner join looked_at as k on k.kind = g.kind
    where g.by_row_no is not null
    union all
    select k.kind, s.sheet_no, s.row_no, 1, 'replaced'
    from superseded as s
    cross join looked_at as k
    union all
    -- A missing heading concerns every row of its sheet.
    select
        f.kind,
        f.sheet_no,
        case when f.rule = 'missing-column' then r.row_no else f.row_no end as row_no,
        case
            when f.decision = 'leave-out' then 2
            when f.severity = 'send_back' then 3
            else 4
        end as strength,
        case
            when f.decision = 'leave-out' then 'left_out'
            when f.severity = 'send_back' then 'sent_back'
            else 'held'
        end as state
    from flags as f
    inner join looked_at as k on k.kind = f.kind
    left join live_rows as r on f.rule = 'missing-column' and r.sheet_no = f.sheet_no
    where coalesce(f.decision, '') <> 'count'
        and (f.severity in ('send_back', 'hold') or f.decision = 'leave-out')
)
select kind, sheet_no, row_no, cast(min_by(state, strength) as row_state) as state
from reason
where row_no is not null
group by kind, sheet_no, row_no
order by kind, sheet_no, row_no;
