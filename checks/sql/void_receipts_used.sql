-- Grain: one row per live weighing on a receipt that its book's row says is void or spoiled.
with spare as (
    select distinct
        station, receipt_book,
        try_cast(unnest(regexp_extract_all(concat_ws(' ', void_nos, spoiled_nos), '[0-9]+')) as bigint)
            as receipt_no
    from live_receipt_books
)
select c.sheet_no, c.row_no
from live_rows as c
inner join spare as s
    on s.station = c.station and s.receipt_book = c.receipt_book and s.receipt_no = c.receipt_no
