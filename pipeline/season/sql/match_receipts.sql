-- Grain: notes of members' records without a partner that name a receipt, once the station has weighings of that
-- day or later, whether it has none of that receipt. Of records of which that is noted nothing is asked again:
-- they are taken away and matched anew where a weighing of their receipt changes, or the station's last day.
create or replace temp table match_receipts as
with due as (
    select u.sheet_no, u.row_no, u.station, u.receipt_book, u.receipt_no
    from unmatched as u
    inner join match_due as d on d.sheet_no = u.sheet_no and d.row_no = u.row_no
    where u.side = 'record' and not u.receipt_due
),
known as (
    select distinct w.station, w.receipt_book, w.receipt_no
    from weighings as w
    inner join (select distinct station, receipt_book, receipt_no from due) as d
        on d.receipt_no = w.receipt_no and d.station = w.station and d.receipt_book = w.receipt_book
    anti join (
        select sheet_no, row_no from flags where kind = 'weighings' and rule = 'receipt-line-twice'
    ) as t on t.sheet_no = w.sheet_no and t.row_no = w.row_no
    where w.state not in ('left_out', 'replaced') and w.net_kg > 0
)
select d.sheet_no, d.row_no, k.receipt_no is null as unknown
from due as d
left join known as k
    on k.station = d.station and k.receipt_book = d.receipt_book and k.receipt_no = d.receipt_no;

update unmatched
set receipt_due = true, receipt_unknown = m.unknown
from match_receipts as m
where unmatched.side = 'record' and m.sheet_no = unmatched.sheet_no and m.row_no = unmatched.row_no;
