-- Grain: one row per kind, station and week that sheets came for: how many rows arrived, how many
-- were sent back, how many may be, and the weeks before it to compare the volume with.
with batch as (
    select
        s.kind,
        coalesce(s.station, '') as station,
        coalesce(s.week, '') as week,
        cast(sum(t.arrived) as bigint) as arrived,
        cast(sum(t.sent_back) as bigint) as sent_back
    from sheets as s
    inner join sheet_states as t on t.sheet_no = s.sheet_no
    where s.kind is not null and s.week is not null
    group by s.kind, s.station, s.week
)
select
    kind,
    station,
    week,
    arrived,
    sent_back,
    -- A share of a handful of rows says nothing: a few may always be sent back.
    greatest(3, arrived * $sent_back_percent // 100) as sent_back_allowed,
    cast(coalesce(median(arrived) over earlier, arrived) as bigint) as usual_rows
from batch
window earlier as (
    partition by kind, station order by week rows between unbounded preceding and 1 preceding
)
order by kind, station, week
