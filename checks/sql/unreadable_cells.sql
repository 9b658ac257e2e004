-- Grain: one row per cell of the kind looked at that could not be read, or heading that is missing.
-- The row's key and stakes come along where the row itself is there.
select
    u.sheet_no,
    u.row_no,
    coalesce(c.row_key, s.slot || ' row ' || u.row_no) as row_key,
    u.col,
    case when u.reason <> 'no-such-column' then u.value end as value,
    case when u.reason = 'no-such-column' then u.value end as near_heading,
    u.reason,
    c.kg_at_stake,
    c.minor_at_stake
from unreadable as u
inner join looked_at as k on k.kind = u.kind
inner join sheets as s on s.sheet_no = u.sheet_no
left join check_rows as c on c.sheet_no = u.sheet_no and c.row_no = u.row_no
where c.row_no is not null or u.reason = 'no-such-column'
