-- Grain: one row per receipt book written in at a station ($station) on a day ($day): first and last
-- number of the day, those missing between them, those used though void, spoiled or outside the book.
with written as (
    select distinct receipt_book, receipt_no, day
    from live_weighings
    where station = $station and receipt_book is not null and receipt_no is not null
),
today as (
    select receipt_book, min(receipt_no) as first_no, max(receipt_no) as last_no,
        count(*) as receipts
    from written
    where day = $day
    group by receipt_book
),
between_them as (
    -- A number mistyped by a digit would open a gap of thousands.
    select receipt_book, unnest(generate_series(first_no, least(last_no, first_no + 9999)))
        as receipt_no
    from today
),
book as (
    select
        receipt_book,
        first_no as book_first,
        last_no as book_last,
        list_transform(regexp_extract_all(coalesce(void_nos, ''), '\d+'), lambda n: cast(n as bigint))
            as void,
        list_transform(
            regexp_extract_all(coalesce(spoiled_nos, ''), '\d+'), lambda n: cast(n as bigint)
        ) as spoiled
    from receipt_books
    where station = $station and state in ('counted', 'held')
),
numbered as (
    select
        t.receipt_book,
        n.receipt_no,
        -- Written on any day: a receipt of another day is not missing, only out of turn.
        w.receipt_no is not null as is_written,
        coalesce(list_contains(b.void, n.receipt_no), false) as is_void,
        coalesce(list_contains(b.spoiled, n.receipt_no), false) as is_spoiled,
        coalesce(w.is_today, false) as is_today,
        b.receipt_book is not null
            and n.receipt_no not between b.book_first and b.book_last as is_outside
    from today as t
    inner join between_them as n on n.receipt_book = t.receipt_book
    left join book as b on b.receipt_book = t.receipt_book
    left join (
        select receipt_book, receipt_no, bool_or(day = $day) as is_today
        from written
        group by receipt_book, receipt_no
    ) as w on w.receipt_book = t.receipt_book and w.receipt_no = n.receipt_no
)
select
    t.receipt_book,
    t.first_no,
    t.last_no,
    t.receipts,
    b.receipt_book is not null as declared,
    coalesce(list(n.receipt_no order by n.receipt_no)
        filter (where not n.is_written and not n.is_void and not n.is_spoiled), []) as missing,
    coalesce(list(n.receipt_no order by n.receipt_no)
        filter (where n.is_written and (n.is_void or n.is_spoiled)), []) as void_used,
    coalesce(list(n.receipt_no order by n.receipt_no)
        filter (where n.is_written and n.is_outside), []) as outside,
    coalesce(list(n.receipt_no order by n.receipt_no)
        filter (where n.is_written and not n.is_today), []) as other_day
from today as t
left join book as b on b.receipt_book = t.receipt_book
left join numbered as n on n.receipt_book = t.receipt_book
group by t.receipt_book, t.first_no, t.last_no, t.receipts, b.receipt_book
order by t.receipt_book
