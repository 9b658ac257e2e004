-- Grain: one row per two members whose records name the same receipt. Those that stand in `receipts_shared` are
-- left as they are.
insert into receipts_shared
select distinct a.member_no, b.member_no
from rows_deliveries as a
inner join rows_deliveries as b
    on b.receipt_no = a.receipt_no and b.receipt_book = a.receipt_book and b.station = a.station
where b.member_no is distinct from a.member_no
except
from receipts_shared
