-- Grain: one row per member and month in which something was paid or spent: minor units; spent is null where
-- nothing was recorded in that month. Inputs on credit are no cash: coffee repays them.
with paid as (
    select
        member_no, date_trunc('month', day)::date as month,
        sum(case when from_account = 'member' then amount_minor else -amount_minor end)::bigint as minor
    from transfers
    where what = 'payment' and member_no in (select unnest($members::varchar[]))
    group by all
),
spent as (
    select member_no, date_trunc('month', day)::date as month, sum(cost_minor)::bigint as minor
    from member_cost
    where counts and source <> 'credit' and cost_minor is not null
        and member_no in (select unnest($members::varchar[]))
    group by all
)
select
    member_no, month, coalesce(p.minor, 0) as paid_minor, s.minor as spent_minor,
    coalesce(p.minor, 0) - s.minor as left_minor
from paid as p
full join spent as s using (member_no, month)
order by member_no, month
