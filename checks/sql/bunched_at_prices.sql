-- Grain: one row per station, coffee and change of its price, where far more came in within three days
-- after a rise (or before a fall) than on the same weekdays of the four weeks before and after.
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
        species, form, from_day, earlier_price, least_price as later_price,
        case when least_price > earlier_price then from_day else from_day - 3 end as span_day
    from changed
    where least_price <> earlier_price
),
coffee as (
    select
        s.species, s.form, s.from_day, s.earlier_price, s.later_price, w.station,
        cast(n.weeks as integer) as weeks,
        cast(sum(w.net_kg) as decimal(14, 3)) as kg,
        count(distinct (w.receipt_book, w.receipt_no)) as receipts,
        min(place_of(w.sheet_no, w.row_no)) as place,
        cast(sum(v.value_minor) as bigint) as value_minor
    from span as s
    cross join range(-4, 5) as n (weeks)
    inner join weighings as w
        on w.species = s.species and w.form = s.form and w.state = 'counted'
        and w.day between s.span_day + cast(7 * n.weeks as integer)
            and s.span_day + cast(7 * n.weeks + 2 as integer)
    left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    group by s.species, s.form, s.from_day, s.earlier_price, s.later_price, w.station, n.weeks
),
compared as (
    select
        species, form, from_day, earlier_price, later_price, station,
        max(kg) filter (where weeks = 0) as kg,
        max(receipts) filter (where weeks = 0) as receipts,
        max(place) filter (where weeks = 0) as place,
        max(value_minor) filter (where weeks = 0) as value_minor,
        cast(median(kg) filter (where weeks <> 0) as decimal(14, 3)) as usual_kg,
        count(*) filter (where weeks <> 0) as other_weeks
    from coffee
    group by species, form, from_day, earlier_price, later_price, station
)
select
    sheet_of(c.place) as sheet_no, row_of(c.place) as row_no, c.station, c.species, c.form, c.from_day, c.earlier_price,
    c.later_price, c.kg, c.receipts, c.usual_kg,
    cast(c.kg - c.usual_kg as decimal(14, 3)) as kg_at_stake,
    -- What the difference in price is worth on what came in beyond the usual.
    cast(div_half_away(
        cast(c.value_minor as hugeint) * grams(cast(c.kg - c.usual_kg as decimal(14, 3)))
        * cast(abs(c.later_price - c.earlier_price) * 10000 as bigint),
        cast(grams(c.kg) as hugeint)
        * cast(greatest(c.later_price, c.earlier_price) * 10000 as bigint)
    ) as bigint) as minor_at_stake
from compared as c
inner join limits_here as l on l.station = c.station and l.species = c.species and l.form = c.form
where c.other_weeks >= 4 and c.receipts >= 20 and c.kg > l.price_bunched * c.usual_kg
