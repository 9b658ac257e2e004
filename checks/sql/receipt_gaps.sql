-- Grain: one row per gap in the numbers of a receipt book, at the first receipt after it: numbers that no
-- weighing bears, void and spoiled ones apart; `numbers`: 7, 9–12.
with spare as (
    select distinct
        b.station, b.receipt_book,
        try_cast(unnest(regexp_extract_all(concat_ws(' ', b.void_nos, b.spoiled_nos), '[0-9]+')) as bigint)
            as receipt_no
    from live_receipt_books as b
    anti join exceptions as e
        on e.kind = 'receipt_books' and e.sheet_no = b.sheet_no and e.row_no = b.row_no
        and e.state in ('sent_back', 'left_out')
),
-- The numbers of a book as bits of one number: most books fill their span, and need not be gone through
-- number by number. What is wider than the bits is.
marked as (
    select
        station, receipt_book, min(receipt_no) as least_no, max(receipt_no) as most_no,
        bit_or(1::bigint << ((receipt_no % 62 + 62) % 62)::integer) as bits
    from (
        select station, receipt_book, receipt_no
        from live_rows
        where station is not null and receipt_book is not null and receipt_no is not null
        union all
        select station, receipt_book, receipt_no from spare where receipt_no is not null
    )
    group by station, receipt_book
),
holed as (
    select station, receipt_book
    from marked
    where most_no - least_no >= bit_count(bits)
),
numbered as (
    select
        station, receipt_book, receipt_no, min(place) as place,
        case when min(place) is not null then receipt_no end as written_no
    from (
        select w.station, w.receipt_book, w.receipt_no, place_of(w.sheet_no, w.row_no) as place
        from live_rows as w
        semi join holed as h on h.station = w.station and h.receipt_book = w.receipt_book
        where w.receipt_no is not null
        union all by name
        select s.station, s.receipt_book, s.receipt_no
        from spare as s
        semi join holed as h on h.station = s.station and h.receipt_book = s.receipt_book
        where s.receipt_no is not null
    )
    group by station, receipt_book, receipt_no
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
    from numbered
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
