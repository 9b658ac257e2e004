-- Grain: numbers the flags of some rules ($codes), each about its row's key, on a kind ($kind) as if all had been
-- found at once: those near to rows that changed, and others about rows of the same key; of keys of which none was
-- found or taken away, nothing changes.
update flags
set flag = n.number
from (
    select
        rowid as id,
        left(sha256(concat_ws('|', rule, kind, row_key, col, row_number() over (
            partition by rule, kind, row_key, col order by sheet_no, row_no
        ))), 16) as number
    from flags
    where kind = $kind and list_contains($codes, rule)
        and row_key in (select row_key from found union all select row_key from near_flags)
) as n
where flags.rowid = n.id and flags.flag <> n.number
