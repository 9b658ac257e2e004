-- Grain: one row per counted weighing whose tare a bag is more than bags weigh and more than twice what
-- is usual at its station, with that usual tare.
with bagged as (
    select
        station, sheet_no, row_no, bags, tare_kg, net_kg,
        kg_from_grams(div_half_away(grams(tare_kg), bags)) as per_bag_kg
    from weighings
    where state = 'counted' and bags > 0 and tare_kg > 0
),
-- What is usual is worked out only where a bag is that heavy.
heavy as (
    select b.*, l.tare_per_bag_high
    from bagged as b
    inner join limits_here as l on l.station = b.station and l.species = '' and l.form = ''
    where b.per_bag_kg > l.tare_per_bag_high
),
usual as (
    select station, cast(median(per_bag_kg) as decimal(14, 3)) as usual_kg
    from bagged
    where station in (select station from heavy)
    group by station
)
select
    b.sheet_no, b.row_no, b.bags, b.per_bag_kg, u.usual_kg, b.tare_per_bag_high,
    cast(b.tare_kg - u.usual_kg * b.bags as decimal(14, 3)) as kg_at_stake,
    cast(div_half_away(
        cast(v.value_minor as hugeint) * grams(b.tare_kg - cast(u.usual_kg * b.bags as decimal(14, 3))),
        cast(grams(b.net_kg) as hugeint)
    ) as bigint) as minor_at_stake
from heavy as b
inner join usual as u on u.station = b.station
left join valued as v on v.sheet_no = b.sheet_no and v.row_no = b.row_no
where b.per_bag_kg > 2 * u.usual_kg
