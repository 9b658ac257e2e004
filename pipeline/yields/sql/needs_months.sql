-- Grain: one row per month in which coffee came in this season: kg green, days of the month in the season on
-- which coffee came in, and the most that any fourteen days ending in it brought.
with days as (
    select w.day, sum(v.gbe_kg) as kg
    from weighings as w
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    where w.state = 'counted' and w.day is not null
    group by w.day
),
running as (
    select
        day, kg,
        sum(kg) over (order by day range between interval 13 days preceding and current row) as fortnight_kg
    from days
)
select
    strftime(day, '%Y-%m') as month, cast(sum(kg) as decimal(18, 3)) as gbe_kg, count(*) as days,
    cast(max(fortnight_kg) as decimal(18, 3)) as busiest_kg
from running
group by month
order by month
