-- Grain: one row per heading that a sheet of the kind looked at lacks, at its header row.
select
    u.sheet_no,
    u.row_no,
    s.slot || ' row ' || u.row_no as row_key,
    u.col,
    cast(null as varchar) as value,
    u.value as near_heading,
    u.reason,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from unreadable as u
inner join looked_at as k on k.kind = u.kind
inner join sheets as s on s.sheet_no = u.sheet_no
where u.reason = 'no-such-column'
