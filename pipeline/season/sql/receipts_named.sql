-- Grain: one row per two members of whom a record of the second names a receipt of the first. Those that stand in
-- `receipts_shared` are left as they are.
insert into receipts_shared
select distinct w.member_no, d.member_no
from rows_weighings as w
inner join rows_deliveries as d
    on d.receipt_no = w.receipt_no and d.receipt_book = w.receipt_book and d.station = w.station
where d.member_no is distinct from w.member_no
except
from receipts_shared
