-- Grain: one row per station and dry form with moisture readings; per cent, wet basis.
select
    station, form, count(*) as readings,
    cast(min(moisture_pct) as decimal(5, 1)) as low,
    cast(round(quantile_cont(moisture_pct, 0.5), 1) as decimal(5, 1)) as middle,
    cast(max(moisture_pct) as decimal(5, 1)) as high
from weighings
where state = 'counted' and moisture_pct is not null and form <> 'fresh_cherry'
group by station, form
order by station, form
