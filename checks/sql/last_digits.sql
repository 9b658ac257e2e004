-- Grain: one row per station, recorder and scale, at its first counted weighing: last digits of the gross
-- weight in steps of the scale's interval, in the span (season, month or week) that is least even.
-- `critical`: chi-square that one look in a hundred seasons passes by chance, over all spans looked at.
with read as (
    select
        w.station, w.recorder, w.scale, w.day,
        cast(grams(w.gross_kg) // grams(sc.interval_kg) % 10 as integer) as digit,
        place_of(w.sheet_no, w.row_no) as place
    from weighings as w
    inner join scales as sc on sc.scale = w.scale
    anti join converted as cv
        on cv.kind = 'weighings' and cv.col = 'gross_kg' and cv.unit not in ('g', 't')
        and cv.sheet_no = w.sheet_no and cv.row_no = w.row_no
    where w.state = 'counted' and w.gross_kg > 0 and is_multiple(w.gross_kg, sc.interval_kg)
),
daily as (
    select station, recorder, scale, day, digit, count(*) as readings, min(place) as first_place
    from read
    group by station, recorder, scale, day, digit
),
spans as (
    select
        station, recorder, scale, digit, sum(readings) as readings, min(first_place) as first_place,
        min(day) as from_day, max(day) as to_day,
        coalesce(cast(date_trunc('month', day) as varchar), cast(date_trunc('week', day) as varchar), '')
            as span,
        grouping(date_trunc('month', day), date_trunc('week', day)) as span_kind
    from daily
    group by grouping sets (
        (station, recorder, scale, digit),
        (station, recorder, scale, digit, date_trunc('month', day)),
        (station, recorder, scale, digit, date_trunc('week', day))
    )
),
counted as (
    select
        station, recorder, scale, span_kind, span,
        list_transform(range(10), lambda d: coalesce(list_sum(list_transform(
            list_filter(list({'digit': digit, 'n': readings}), lambda r: r.digit = d), lambda r: r.n
        )), 0)::bigint) as counts,
        cast(sum(readings) as bigint) as readings,
        min(first_place) as first_place,
        min(from_day) as from_day,
        max(to_day) as to_day
    from spans
    group by station, recorder, scale, span_kind, span
),
scored as (
    select
        c.*,
        chi_square_uniform(c.counts) as chi_square,
        chi_square_9_critical(count(*) over ()) as critical,
        c.counts[1] + c.counts[6] as n_0_and_5,
        share_0_5_whipple(c.counts[1] + c.counts[6], c.readings) as whipple,
        l.digits_rounded
    from counted as c
    inner join limits_here as l
        on l.station = c.station and l.species = '' and l.form = ''
    where c.readings >= l.digits_rows
),
worst as (
    select
        station, recorder, scale,
        max_by(
            {
                'counts': counts, 'readings': readings, 'from_day': from_day, 'to_day': to_day,
                'chi_square': chi_square, 'critical': critical, 'n_0_and_5': n_0_and_5,
                'whipple': whipple, 'digits_rounded': digits_rounded
            },
            (chi_square, readings, from_day)
        ) as span
    from scored
    group by station, recorder, scale
),
firsts as (
    select station, recorder, scale, min(first_place) as place
    from daily
    group by station, recorder, scale
)
select
    sheet_of(f.place) as sheet_no, row_of(f.place) as row_no, w.station, w.recorder, w.scale,
    w.span.readings, w.span.from_day, w.span.to_day,
    array_to_string(w.span.counts, ' ') as digit_counts,
    cast(w.span.chi_square as decimal(14, 1)) as chi_square,
    cast(w.span.critical as decimal(14, 1)) as critical,
    cast(div_half_away(w.span.n_0_and_5 * 100, w.span.readings) as bigint) as share_pct,
    cast(chi_square_0_5(w.span.n_0_and_5, w.span.readings) as decimal(14, 1)) as rounding_chi_square,
    -- A share of 0 and 5 has one degree of freedom; the bound of nine is the stricter one.
    w.span.whipple >= w.span.digits_rounded
        and chi_square_0_5(w.span.n_0_and_5, w.span.readings) > w.span.critical as rounds,
    w.span.chi_square > w.span.critical as uneven,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from worst as w
inner join firsts as f
    on f.station = w.station and f.recorder = w.recorder and f.scale = w.scale
