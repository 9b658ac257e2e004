-- Grain: one row per receipt that a member's record names that is touched.
create or replace temp table receipts_touched as
select distinct r.station, r.receipt_book, r.receipt_no
from rows_deliveries as r
inner join touched as t on t.kind = 'deliveries' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
where r.receipt_no is not null and r.receipt_book is not null and r.station is not null
