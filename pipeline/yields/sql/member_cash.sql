-- Grain: one row per month of the season: what one member was paid, and what was recorded as spent, minor
-- units; null where nothing was recorded in that month. Inputs on credit are no cash: coffee repays them.
with months as (
    select unnest(generate_series(date_trunc('month', first_day), last_day, interval 1 month)) as month
    from season_days
),
paid as (
    select
        date_trunc('month', day) as month,
        cast(sum(case when from_account = 'member' then amount_minor else -amount_minor end) as bigint) as minor
    from transfers
    where member_no = $member and what = 'payment'
    group by 1
),
spent as (
    select date_trunc('month', day) as month, cast(sum(cost_minor) filter (counts) as bigint) as minor
    from member_cost
    where member_no = $member and source <> 'credit'
    group by 1
)
select
    cast(m.month as date) as month, coalesce(p.minor, 0) as paid_minor, s.minor as spent_minor,
    coalesce(p.minor, 0) - s.minor as left_minor
from months as m
left join paid as p on p.month = m.month
left join spent as s on s.month = m.month
order by m.month
