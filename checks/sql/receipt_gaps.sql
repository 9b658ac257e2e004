-- Grain: one row per gap in the numbers of a receipt book, at the first receipt after it: numbers that no
-- weighing bears, void and spoiled ones apart; `numbers`: 7, 9–12.
with written as (
    select
        station, receipt_book, receipt_no, min(place_of(sheet_no, row_no)) as place
    from live_rows
    where station is not null and receipt_book is not null and receipt_no is not null
    group by station, receipt_book, receipt_no
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
numbered as (
    select
        station, receipt_book, receipt_no, max(place) as place,
        case when max(place) is not null then receipt_no end as written_no
    from (
        select station, receipt_book, receipt_no, place from written
        union all by name
        select station, receipt_book, receipt_no from spare where receipt_no is not null
    )
    group by station, receipt_book, receipt_no
),
-- Most books have no hole at all, and need not be gone through number by number.
used as (
    select n.*
    from numbered as n
    inner join (
        select station, receipt_book
        from numbered
        group by station, receipt_book
        having max(receipt_no) - min(receipt_no) >= count(*)
    ) as b on b.station = n.station and b.receipt_book = n.receipt_book
),
holes as (
    select
        station, receipt_book,
        lag(receipt_no) over book + 1 as from_no, receipt_no - 1 as to_no,
        -- The receipts written before and after it: a hole at either end of what is written is none.
        max(written_no) over (book rows between unbounded preceding and 1 preceding) as before_no,
        min({'receipt_no': written_no, 'place': place}) filter (where written_no is not null) over (
            book rows between current row and unbounded following
        ) as next_written
    from used
    window book as (partition by station, receipt_book order by receipt_no)
),
gaps as (
    select
        station, receipt_book, next_written.place as place,
        cast(sum(to_no - from_no + 1) as bigint) as missing,
        string_agg(
            case when from_no = to_no then cast(from_no as varchar)
            else concat(from_no, '–', to_no) end,
            ', ' order by from_no
        ) as numbers
    from holes
    where to_no >= from_no and before_no is not null and next_written is not null
    group by station, receipt_book, next_written
)
select
    sheet_of(g.place) as sheet_no, row_of(g.place) as row_no, g.station, g.receipt_book, g.numbers,
    g.missing,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from gaps as g
