-- Grain: one row per station with readings of enough members; per cent, wet basis, dry forms only.
select
    station, count(*) as readings, count(distinct member_no) as members,
    count(*) filter (moisture_pct > $moisture_most) as wet,
    min(moisture_pct)::decimal(5, 2) as low,
    round(quantile_cont(moisture_pct, 0.25), 2)::decimal(5, 2) as lower,
    round(quantile_cont(moisture_pct, 0.5), 2)::decimal(5, 2) as middle,
    round(quantile_cont(moisture_pct, 0.75), 2)::decimal(5, 2) as upper,
    max(moisture_pct)::decimal(5, 2) as high
from weighings
where state = 'counted' and moisture_pct is not null and form <> 'fresh_cherry'
group by station
having count(distinct member_no) >= $least
order by station
