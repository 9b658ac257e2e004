-- Grain: one row per row that cannot be counted, whose key a later version of its sheet no longer has,
-- and whose line there holds a row that takes the place of no other: that row is the mended one. Any
-- other row that cannot be counted goes on waiting, so that its coffee is not lost; what it says of
-- itself is enough, and that it is gone from the later version is not told as well.
insert into superseded
select distinct f.kind, f.sheet_no, f.row_no
from found as f
inner join succession as g
    on g.kind = f.kind and g.sheet_no = f.sheet_no and g.row_no = f.row_no and g.by_row_no is null
inner join live_rows as n on n.sheet_no = g.by_sheet_no and n.row_no = f.row_no
anti join succession as t
    on t.kind = f.kind and t.by_sheet_no = n.sheet_no and t.by_row_no = n.row_no
where f.severity = 'send_back';

delete from found
where (sheet_no, row_no) in (
    select (s.sheet_no, s.row_no)
    from superseded as s
    inner join looked_at as k on k.kind = s.kind
)
    or (
        rule = 'gone-from-later-version'
        and (sheet_no, row_no) in (select (sheet_no, row_no) from found where severity = 'send_back')
    );
