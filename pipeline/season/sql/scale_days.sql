-- Grain: one row per station, recorder, scale and day of counted weighings whose gross weight is one of the
-- scale's steps, at the first of them: how often the weight in steps ends in each digit, and how often a last
-- digit follows itself in the order of the receipts. What was converted from another unit shows no steps.
insert into scale_days
with read as (
    select
        w.station, w.recorder, w.scale, w.day, w.receipt_book, w.receipt_no, w.line,
        place_of(w.sheet_no, w.row_no) as place,
        cast(grams(w.gross_kg) // grams(sc.interval_kg) % 10 as integer) as digit
    from weighings as w
    inner join scales as sc on sc.scale = w.scale
    anti join converted as cv
        on cv.kind = 'weighings' and cv.col = 'gross_kg' and cv.unit not in ('g', 't')
        and cv.sheet_no = w.sheet_no and cv.row_no = w.row_no
    where w.state = 'counted' and w.gross_kg > 0 and is_multiple(w.gross_kg, sc.interval_kg)
),
-- A list a day is far less work than a window over all rows.
daily as (
    select
        station, recorder, scale, day, count(*) as readings, min(place) as place,
        list(digit order by receipt_book, receipt_no, line, place) as digits
    from read
    group by station, recorder, scale, day
),
counted as (
    select *, list_aggregate(list_concat(digits, range(10)), 'histogram') as times
    from daily
)
select
    station, recorder, scale, day, place,
    cast(readings as integer) as readings,
    cast(len(list_filter(range(2, readings + 1), lambda n: digits[n] = digits[n - 1])) as integer) as repeats,
    list_transform(map_values(times), lambda n: cast(n - 1 as integer)) as digits
from counted
