-- Grain: one row per receipt whose day does not fit the receipts before and after it in its book, at its
-- first line. Where both neighbours are in order, the one between them is off.
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
receipt as (
    select
        w.station, w.receipt_book, w.receipt_no, min(w.day) as day,
        min(place_of(w.sheet_no, w.row_no)) as place
    from live_rows as w
    semi join mixed as m on m.station = w.station and m.receipt_book = w.receipt_book
    where w.receipt_no is not null and w.day is not null
    group by w.station, w.receipt_book, w.receipt_no
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
)
select
    sheet_of(t.place) as sheet_no, row_of(t.place) as row_no, t.receipt_book, t.receipt_no,
    case when t.day > t.day_after then t.no_after else t.no_before end as other_no,
    case when t.day > t.day_after then t.day_after else t.day_before end as other_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from turned as t
where (t.day > t.day_after and coalesce(t.day_before <= t.day_after, true))
    or (t.day < t.day_before and coalesce(t.day_before <= t.day_after, true))
