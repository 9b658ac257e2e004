-- Grain: one row per station, coffee and change of its price, where far more came in on the day, or within
-- three days, after a rise (or before a fall) than on the same weekdays of the four weeks before and after;
-- of the two spans the one in which more times the usual came in.
with price as (
    select
        from_day, species, form, min(price_per_kg) as least_price
    from prices
    where state = 'counted'
    group by from_day, species, form
),
changed as (
    select
        *, lag(least_price) over (partition by species, form order by from_day) as earlier_price
    from price
),
span as (
    select
        c.species, c.form, c.from_day, c.earlier_price, c.least_price as later_price, n.days,
        case when c.least_price > c.earlier_price then c.from_day else c.from_day - n.days end as span_day
    from changed as c
    cross join (values (1), (3)) as n (days)
    where c.least_price <> c.earlier_price
),
looked as (
    select
        s.*, cast(n.weeks as integer) as weeks, s.span_day + cast(7 * n.weeks + d.n as integer) as day
    from span as s
    cross join range(-4, 5) as n (weeks)
    cross join range(0, 3) as d (n)
    where d.n < s.days
),
coffee as (
    select
        l.species, l.form, l.from_day, l.earlier_price, l.later_price, l.span_day, l.days, d.station,
        l.weeks, kg_from_grams(cast(sum(d.counted_g) as bigint)) as kg
    from looked as l
    inner join coffee_days as d on d.species = l.species and d.form = l.form and d.day = l.day
    where d.counted_g is not null
    group by
        l.species, l.form, l.from_day, l.earlier_price, l.later_price, l.span_day, l.days, d.station,
        l.weeks
),
compared as (
    select
        species, form, from_day, earlier_price, later_price, span_day, days, station,
        max(kg) filter (where weeks = 0) as kg,
        cast(median(kg) filter (where weeks <> 0) as decimal(14, 3)) as usual_kg,
        count(*) filter (where weeks <> 0) as other_weeks
    from coffee
    group by species, form, from_day, earlier_price, later_price, span_day, days, station
),
-- Few spans are: only their receipts are looked at.
far as (
    select c.*, l.price_bunched_receipts
    from compared as c
    inner join limits_here as l
        on l.station = c.station and l.species = c.species and l.form = c.form
    where c.other_weeks >= 4 and c.kg > l.price_bunched * c.usual_kg
),
sheet as (
    select distinct s.sheet_no
    from weighed_sheets as s
    inner join far as f
        on f.station = s.station and s.day between f.span_day and f.span_day + f.days - 1
),
line as (
    select
        f.station, f.species, f.form, f.from_day, f.days, w.day, w.receipt_book, w.receipt_no, w.sheet_no, w.row_no
    from far as f
    inner join (from weighings semi join sheet using (sheet_no)) as w
        on w.station = f.station and w.species = f.species and w.form = f.form
        and w.state = 'counted' and w.day between f.span_day and f.span_day + f.days - 1
),
daily as (
    select
        station, species, form, from_day, days, count(distinct (receipt_book, receipt_no)) as receipts,
        min(place_of(sheet_no, row_no)) as place
    from line
    group by station, species, form, from_day, days, day
),
counted as (
    select station, species, form, from_day, days, sum(receipts) as receipts, min(place) as place
    from daily
    group by station, species, form, from_day, days
),
bunched as (
    select f.*, c.place
    from far as f
    inner join counted as c
        on c.station = f.station and c.species = f.species and c.form = f.form and c.from_day = f.from_day
        and c.days = f.days
    where c.receipts >= f.price_bunched_receipts
    qualify row_number() over (
        partition by f.station, f.species, f.form, f.from_day order by f.kg / f.usual_kg desc, f.days
    ) = 1
),
worth as (
    select l.station, l.species, l.form, l.from_day, sum(v.value_minor) as value_minor
    from line as l
    inner join bunched as b
        on b.station = l.station and b.species = l.species and b.form = l.form and b.from_day = l.from_day
        and b.days = l.days
    left join (
        select v.sheet_no, v.row_no, v.value_minor
        from valued as v
        semi join line using (sheet_no, row_no)
    ) as v on v.sheet_no = l.sheet_no and v.row_no = l.row_no
    group by l.station, l.species, l.form, l.from_day
)
select
    sheet_of(c.place) as sheet_no, row_of(c.place) as row_no, c.station, c.species, c.form, c.from_day,
    c.earlier_price, c.later_price, c.kg, c.usual_kg, c.span_day as span_from,
    cast(c.span_day + c.days - 1 as date) as span_to,
    cast(c.kg - c.usual_kg as decimal(14, 3)) as kg_at_stake,
    -- What the difference in price is worth on what came in beyond the usual.
    cast(div_half_away(
        cast(w.value_minor as hugeint) * grams(cast(c.kg - c.usual_kg as decimal(14, 3)))
        * cast(abs(c.later_price - c.earlier_price) * 10000 as bigint),
        cast(grams(c.kg) as hugeint)
        * cast(greatest(c.later_price, c.earlier_price) * 10000 as bigint)
    ) as bigint) as minor_at_stake
from bunched as c
left join worth as w
    on w.station = c.station and w.species = c.species and w.form = c.form and w.from_day = c.from_day
