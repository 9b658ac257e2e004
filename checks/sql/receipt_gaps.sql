-- Grain: one row per gap in the numbers of a receipt book, at the first receipt after it: numbers that no
-- weighing bears, void and spoiled ones apart.
with written as (
    select
        station, receipt_book, receipt_no, min(place_of(sheet_no, row_no)) as place
    from live_rows
    where station is not null and receipt_book is not null and receipt_no is not null
    group by station, receipt_book, receipt_no
),
turned as (
    select
        *,
        lag(receipt_no) over (partition by station, receipt_book order by receipt_no) as earlier_no
    from written
),
spare as (
    select distinct
        b.station, b.receipt_book,
        try_cast(unnest(regexp_extract_all(concat_ws(' ', b.void_nos, b.spoiled_nos), '[0-9]+')) as bigint)
            as receipt_no
    from live_receipt_books as b
    anti join exceptions as e
        on e.kind = 'receipt_books' and e.sheet_no = b.sheet_no and e.row_no = b.row_no
        and e.state in ('sent_back', 'left_out')
),
gaps as (
    select
        t.station, t.receipt_book, t.earlier_no + 1 as from_no, t.receipt_no - 1 as to_no,
        t.receipt_no - t.earlier_no - 1 - count(s.receipt_no) as missing, t.place
    from turned as t
    left join spare as s
        on s.station = t.station and s.receipt_book = t.receipt_book
        and s.receipt_no > t.earlier_no and s.receipt_no < t.receipt_no
    where t.receipt_no - t.earlier_no > 1
    group by t.station, t.receipt_book, t.earlier_no, t.receipt_no, t.place
)
select
    sheet_of(g.place) as sheet_no, row_of(g.place) as row_no, g.station, g.receipt_book, g.from_no, g.to_no,
    g.missing,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from gaps as g
where g.missing > 0
