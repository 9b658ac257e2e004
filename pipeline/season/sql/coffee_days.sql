-- Grain: one row per station, day, coffee and lot ('' = none) of counted and held weighings, in grams; what was
-- sorted out after the weight was read and given back is named apart, and so is the heaviest bag.
insert into coffee_days
select
    station,
    day,
    species,
    form,
    coalesce(lot_no, '') as lot_no,
    cast(sum(grams(net_kg)) filter (where state = 'counted') as bigint) as counted_g,
    -- Of few rows anything is given back: of the others it is not worked out.
    cast(coalesce(sum(
        case when rejects_taken = 'after_weighing' and rejects_treatment = 'returned' and state = 'counted'
            then least(grams(coalesce(floaters_kg, 0)) + grams(coalesce(rejects_kg, 0)), grams(net_kg))
        end
    ), 0) as bigint) as returned_g,
    cast(sum(grams(net_kg)) filter (where net_kg > 0) as bigint) as taken_g,
    -- Of a lot's moisture: each reading counts by its coffee.
    cast(sum(case when state = 'counted' and moisture_pct is not null then grams(net_kg) end) as bigint)
        as read_g,
    cast(sum(case when state = 'counted' then grams(net_kg) * cast(moisture_pct * 100 as bigint) end) as hugeint)
        as read_g_pct,
    max(tare_kg / bags) filter (where state = 'counted' and bags > 0) as heaviest_bag_kg
from weighings
where state in ('counted', 'held')
group by all
order by all
