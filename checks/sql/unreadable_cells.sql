-- Grain: one row per cell of a live row of the kind looked at that could not be read.
select u.sheet_no, u.row_no, u.col, u.value, u.reason
from unreadable as u
inner join looked_at as k on k.kind = u.kind
inner join live_rows as c on c.sheet_no = u.sheet_no and c.row_no = u.row_no
where u.reason <> 'no-such-column'
