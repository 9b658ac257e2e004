-- Grain: one row per member's record without a partner of which it is now otherwise than noted whether the
-- station has no weighing of the receipt that it names, though it has weighings of that day or later.
create or replace temp table match_receipts as
with weighed_until as (
    -- A row that was sent back may have its day wrong.
    select station, max(day) as day from weighings where state in ('counted', 'held') group by station
),
late as (
    select u.sheet_no, u.row_no, u.member_no, u.station, u.receipt_book, u.receipt_no, u.receipt_unknown
    from unmatched as u
    inner join weighed_until as w on w.station = u.station and w.day >= u.day
    where u.side = 'record' and u.receipt_book is not null and u.receipt_no is not null
),
known as (
    select distinct w.station, w.receipt_book, w.receipt_no
    from weighings as w
    inner join (select distinct station, receipt_book, receipt_no from late) as l
        on l.receipt_no = w.receipt_no and l.station = w.station and l.receipt_book = w.receipt_book
    anti join (
        select sheet_no, row_no from flags where kind = 'weighings' and rule = 'receipt-line-twice'
    ) as t on t.sheet_no = w.sheet_no and t.row_no = w.row_no
    where w.state not in ('left_out', 'replaced') and w.net_kg > 0
),
unknown as (
    select l.sheet_no, l.row_no
    from late as l
    anti join known as k
        on k.station = l.station and k.receipt_book = l.receipt_book and k.receipt_no = l.receipt_no
)
select u.sheet_no, u.row_no, u.member_no
from unmatched as u
left join unknown as n on n.sheet_no = u.sheet_no and n.row_no = u.row_no
where u.side = 'record' and u.receipt_unknown <> (n.row_no is not null);

update unmatched
set receipt_unknown = not receipt_unknown
from match_receipts as m
where unmatched.side = 'record' and m.sheet_no = unmatched.sheet_no and m.row_no = unmatched.row_no;
