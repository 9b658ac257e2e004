-- Grain: one row per counted weighing whose tare a bag is more than bags weigh and more than twice what
-- is usual at its station, with that usual tare.
with heavy as (
    select
        w.station, w.sheet_no, w.row_no, w.bags, w.tare_kg, w.net_kg,
        kg_from_grams(div_half_away(grams(w.tare_kg), w.bags)) as per_bag_kg
    from weighings as w
    where w.state = 'counted' and w.bags > 0 and w.tare_kg > 0
        -- In most seasons none is: what is usual need not be found. A gram, since a bag's is rounded.
        and w.tare_kg > ((select min(tare_per_bag_high) from limits_here) - 0.001) * w.bags
),
usual as (
    select
        w.station,
        cast(median(kg_from_grams(div_half_away(grams(w.tare_kg), w.bags))) as decimal(14, 3)) as usual_kg
    from weighings as w
    inner join (select distinct station from heavy) as h on h.station = w.station
    where w.state = 'counted' and w.bags > 0 and w.tare_kg > 0
    group by w.station
)
select
    b.sheet_no, b.row_no, b.bags, b.per_bag_kg, u.usual_kg, l.tare_per_bag_high,
    cast(b.tare_kg - u.usual_kg * b.bags as decimal(14, 3)) as kg_at_stake,
    cast(div_half_away(
        cast(v.value_minor as hugeint) * grams(b.tare_kg - cast(u.usual_kg * b.bags as decimal(14, 3))),
        cast(grams(b.net_kg) as hugeint)
    ) as bigint) as minor_at_stake
from heavy as b
inner join usual as u on u.station = b.station
inner join limits_here as l on l.station = b.station and l.species = '' and l.form = ''
left join valued as v on v.sheet_no = b.sheet_no and v.row_no = b.row_no
where b.per_bag_kg > l.tare_per_bag_high and b.per_bag_kg > 2 * u.usual_kg
