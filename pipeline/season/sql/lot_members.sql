-- Grain: one row per member with coffee in one lot ($lot): of what is in it or was sold from it, how
-- much as taken in at the scale, kilograms; the largest first. Coffee that lay there when the book
-- began is nobody's here. Shares of a day's coffee are by weight.
with taken as (
    select
        day, station, form, coalesce(lot_no, '') as lot_no, member_no,
        sum(grams(net_kg)) as grams
    from weighings
    where state = 'counted'
    group by all
),
days as (
    select day, station, form, lot_no, sum(grams) as grams from taken group by all
),
part as (
    select origin_day, origin_station, origin_form, origin_lot_no, sum(grams) as grams
    from coffee_origins
    where lot_no = $lot and holder in ('stock', 'sold')
    group by all
)
select
    t.member_no,
    kg_from_grams(cast(sum(div_half_away(
        cast(p.grams as hugeint) * t.grams, cast(d.grams as hugeint)
    )) as bigint)) as taken_in_kg
from part as p
inner join taken as t
    on t.day = p.origin_day and t.station = p.origin_station and t.form = p.origin_form
    and t.lot_no = p.origin_lot_no
inner join days as d
    on d.day = t.day and d.station = t.station and d.form = t.form and d.lot_no = t.lot_no
group by t.member_no
order by taken_in_kg desc, t.member_no
