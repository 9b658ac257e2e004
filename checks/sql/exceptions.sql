-- Grain: one row per row of a kind ($kind) that is not counted, with the one state it is in; $sheets: those
-- whose rows are looked at, null for all.
-- Of several reasons the strongest holds: replaced, left out, sent back, held.
insert into exceptions
with reason as (
    select g.kind, g.sheet_no, g.row_no, 1 as strength, 'replaced' as state
    from succession as g
    where g.kind = $kind and g.by_row_no is not null
        and ($sheets is null or list_contains(cast($sheets as integer[]), g.sheet_no))
    union all
    select kind, sheet_no, row_no, 1, 'replaced'
    from superseded
    where kind = $kind and ($sheets is null or list_contains(cast($sheets as integer[]), sheet_no))
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
    left join (
        select sheet_no, row_no
        from live_rows
        where sheet_no in (select sheet_no from flags where rule = 'missing-column')
    ) as r on f.rule = 'missing-column' and r.sheet_no = f.sheet_no
    -- What following the coffee sets aside has its state from there; notes on the season set none.
    where f.kind = $kind and ($sheets is null or list_contains(cast($sheets as integer[]), f.sheet_no))
        and not list_contains($later, f.rule) and coalesce(f.decision, '') <> 'count'
        and (f.severity in ('send_back', 'hold') or f.decision = 'leave-out')
)
select kind, sheet_no, row_no, cast(min_by(state, strength) as row_state) as state, false as aside
from reason
where row_no is not null
group by kind, sheet_no, row_no
order by kind, sheet_no, row_no;
