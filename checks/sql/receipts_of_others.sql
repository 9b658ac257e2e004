-- Grain: one row per receipt that one member's record names and that is weighed in under another member,
-- on the same day within a week, at its first line.
-- Whose record was matched with a delivery of its weight brought that, and may have written a wrong number.
with named as (
    select d.station, d.receipt_book, d.receipt_no, d.member_no, d.day, d.kg, d.sheet_no, d.row_no
    from deliveries as d
    anti join matched as m
        on m.record_sheet_no = d.sheet_no and m.record_row_no = d.row_no
        and m.standing = 'settled' and m.weight_is in ('equal', 'within')
    where d.state = 'counted' and d.receipt_no is not null
        and d.member_no in (select other_no from receipts_shared where member_no <> other_no)
),
receipt as (
    select
        w.station, w.receipt_book, w.receipt_no, any_value(w.member_no) as member_no, min(w.day) as day,
        min(place_of(w.sheet_no, w.row_no)) as place
    from weighings as w
    inner join (select distinct station, receipt_book, receipt_no from named) as d
        on d.station = w.station and d.receipt_book = w.receipt_book and d.receipt_no = w.receipt_no
    where w.state in ('counted', 'held')
    group by w.station, w.receipt_book, w.receipt_no
    having min(w.member_no) = max(w.member_no)
),
claimed as (
    select
        c.place, min_by({'member_no': d.member_no, 'kg': d.kg}, (d.sheet_no, d.row_no)) as record
    from receipt as c
    inner join named as d
        on d.station = c.station and d.receipt_book = c.receipt_book and d.receipt_no = c.receipt_no
    where d.member_no <> c.member_no and d.day between c.day - 7 and c.day + 7
    group by c.place
)
select
    sheet_of(c.place) as sheet_no, row_of(c.place) as row_no,
    c.record.member_no as other_member_no, c.record.kg as record_kg
from claimed as c
