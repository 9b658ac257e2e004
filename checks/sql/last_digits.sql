-- Grain: one row per station, recorder and scale, at its first counted weighing: last digits of the gross
-- weight in steps of the scale's interval, in the span (season, month or week) that is least even.
-- `critical`: chi-square that one look in a hundred seasons passes by chance, over all spans looked at.
with spans as (
    select
        station, recorder, scale, cast(sum(readings) as bigint) as readings, min(place) as first_place,
        min(day) as from_day, max(day) as to_day,
        [
            sum(digits[1]), sum(digits[2]), sum(digits[3]), sum(digits[4]), sum(digits[5]),
            sum(digits[6]), sum(digits[7]), sum(digits[8]), sum(digits[9]), sum(digits[10])
        ]::bigint[] as counts
    from scale_days
    group by grouping sets (
        (station, recorder, scale),
        (station, recorder, scale, date_trunc('month', day)),
        (station, recorder, scale, date_trunc('week', day))
    )
),
scored as (
    select
        c.*,
        chi_square_uniform(c.counts) as chi_square,
        chi_square_9_critical(count(*) over ()) as critical,
        c.counts[1] + c.counts[6] as n_0_and_5,
        share_0_5_whipple(c.counts[1] + c.counts[6], c.readings) as whipple,
        l.digits_rounded
    from spans as c
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
    select station, recorder, scale, min(place) as place
    from scale_days
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
