-- Grain: one row per finding on the days of receipts. order: a receipt whose day does not fit the receipts
-- before and after it in its book, at its first line; where both neighbours are in order, the one between
-- them is off. lines: a line of another day than most lines of its member on its receipt; where two days come
-- equally often, each line of these.
with by_day as (
    select station, receipt_book, day, min(receipt_no) as from_no, max(receipt_no) as to_no
    from live_rows
    where station is not null and receipt_book is not null and receipt_no is not null
        and day is not null
    group by station, receipt_book, day
),
-- In most books each day's numbers follow those of the days before: nothing is off there.
mixed as (
    select distinct station, receipt_book
    from (
        select
            station, receipt_book, from_no,
            max(to_no) over (
                partition by station, receipt_book order by day
                rows between unbounded preceding and 1 preceding
            ) as no_before
        from by_day
    ) as running
    where from_no <= no_before
),
line as (
    select
        w.station, w.receipt_book, w.receipt_no, w.member_no, w.day, place_of(w.sheet_no, w.row_no) as place
    from live_rows as w
    semi join mixed as m on m.station = w.station and m.receipt_book = w.receipt_book
    where w.receipt_no is not null and w.day is not null
),
dated as (
    select
        station, receipt_book, receipt_no, min(place) as place, min(day) as first_day, max(day) as last_day
    from line
    group by station, receipt_book, receipt_no
),
-- Few receipts have lines of two days. What was sent back or left out is told already.
uneven as (
    select l.*
    from line as l
    inner join dated as d
        on d.first_day < d.last_day and d.station = l.station and d.receipt_book = l.receipt_book
        and d.receipt_no = l.receipt_no
    anti join exceptions as e
        on e.kind = 'weighings' and e.state in ('sent_back', 'left_out')
        and e.sheet_no = sheet_of(l.place) and e.row_no = row_of(l.place)
),
most_lines as (
    select station, receipt_book, receipt_no, min_by(day, (-lines, day)) as day
    from (
        select station, receipt_book, receipt_no, day, count(*) as lines
        from uneven
        group by station, receipt_book, receipt_no, day
    ) as n
    group by station, receipt_book, receipt_no
),
receipt as (
    select d.station, d.receipt_book, d.receipt_no, d.place, coalesce(m.day, d.first_day) as day
    from dated as d
    left join most_lines as m
        on m.station = d.station and m.receipt_book = d.receipt_book and m.receipt_no = d.receipt_no
),
turned as (
    select
        *,
        lag(day) over book as day_before,
        lag(receipt_no) over book as no_before,
        lead(day) over book as day_after,
        lead(receipt_no) over book as no_after
    from receipt
    window book as (partition by station, receipt_book order by receipt_no)
),
member_day as (
    select station, receipt_book, receipt_no, member_no, day, count(*) as lines
    from uneven
    group by station, receipt_book, receipt_no, member_no, day
),
beside_others as (
    select
        d.station, d.receipt_book, d.receipt_no, d.member_no, d.day,
        min_by(o.day, (-o.lines, o.day)) as other_day
    from member_day as d
    inner join member_day as o
        on o.station = d.station and o.receipt_book = d.receipt_book and o.receipt_no = d.receipt_no
        and o.member_no is not distinct from d.member_no and o.day <> d.day and o.lines >= d.lines
    group by d.station, d.receipt_book, d.receipt_no, d.member_no, d.day
),
found as (
    select
        'order' as what, place, receipt_book, receipt_no,
        case when day > day_after then no_after else no_before end as other_no,
        case when day > day_after then day_after else day_before end as other_day
    from turned
    where (day > day_after and coalesce(day_before <= day_after, true))
        or (day < day_before and coalesce(day_before <= day_after, true))
    union all by name
    select 'lines' as what, l.place, l.receipt_book, l.receipt_no, b.other_day
    from beside_others as b
    inner join uneven as l
        on l.station = b.station and l.receipt_book = b.receipt_book and l.receipt_no = b.receipt_no
        and l.member_no is not distinct from b.member_no and l.day = b.day
)
select
    sheet_of(f.place) as sheet_no, row_of(f.place) as row_no, f.what, f.receipt_book, f.receipt_no,
    f.other_no, f.other_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from found as f
