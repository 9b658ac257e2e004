-- Grain: one row per row that cannot be counted and that a later version of its sheet no longer has:
-- nothing of it counts, and the later version speaks for it, so nobody need be asked.
create or replace temp table superseded as
select distinct f.sheet_no, f.row_no
from found as f
inner join succession as g
    on g.kind = f.kind and g.sheet_no = f.sheet_no and g.row_no = f.row_no and g.by_row_no is null
where f.severity = 'send_back';

delete from found
where (sheet_no, row_no) in (select (sheet_no, row_no) from superseded);
