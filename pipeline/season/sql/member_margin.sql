-- Grain: one row per member of the register: value less variable costs, then less a year's part of the
-- tools; what a kilogram cost, what price or crop would just meet the variable costs, and what a day of
-- family work earned (family work itself is no cost). Minor units; each quotient is rounded once, half
-- away from zero. Where nothing or too little is recorded the figures are null and held says why.
insert into member_margin
with recalled as (
    select
        v.member_no, unnest(generate_series(
            date_trunc('week', greatest(coalesce(v.recalled_from, d.first_day), d.first_day)),
            date_trunc('week', least(v.day, d.last_day)), interval 7 days
        )) as week
    from visits as v
    cross join season_days as d
    where v.state = 'counted' and v.day >= d.first_day
        and coalesce(v.cost_minor, v.family_days, v.hired_days) is not null
),
weeks as (
    select r.member_no, count(distinct r.week) as weeks_recalled
    from recalled as r
    anti join farm_record as f
        on f.state = 'counted' and f.member_no = r.member_no and date_trunc('week', f.day) = r.week
    group by r.member_no
),
cost as (
    select
        member_no,
        count(*) filter (source = 'visit' and counts) as visit_rows,
        count(*) filter (source <> 'credit' and counts and cost_minor is not null) as cost_rows,
        cast(sum(cost_minor) filter (counts and heading <> 'tools') as bigint) as variable_minor,
        cast(sum(cost_minor) filter (counts and heading = 'tools') as bigint) as tools_minor,
        cast(sum(cost_minor) filter (counts and source = 'visit') as bigint) as recalled_minor,
        cast(sum(cost_minor) filter (counts and source = 'credit') as bigint) as credit_minor,
        cast(sum(family_days) filter (counts) as decimal(14, 1)) as family_days,
        cast(sum(hired_days) filter (counts) as decimal(14, 1)) as hired_days,
        bool_or(doubtful and counts) as doubtful
    from member_cost
    group by member_no
),
waiting as (
    select member_no, count(*) as rows_waiting
    from farm_record
    where state in ('held', 'sent_back') and member_no is not null
    group by member_no
),
base as (
    select
        s.member_no, s.gbe_kg, s.value_minor + s.premium_minor + s.second_minor as value_minor,
        -- A record of work without days or cost is a record all the same.
        s.record_rows, coalesce(c.visit_rows, 0) as visit_rows,
        s.record_weeks as weeks_recorded, coalesce(w.weeks_recalled, 0) as weeks_recalled,
        coalesce(c.variable_minor, 0) as variable_minor,
        coalesce(c.tools_minor, 0) as tools_minor,
        cast(div_half_away(coalesce(c.tools_minor, 0) * 100, cast(l.tool_years * 100 as bigint)) as bigint) as fixed_minor,
        c.recalled_minor, c.credit_minor, c.family_days, c.hired_days,
        coalesce(q.rows_waiting, 0) as waiting_rows,
        case
            when s.record_rows + coalesce(c.visit_rows, 0) = 0 then 'nothing-recorded'
            when coalesce(c.cost_rows, 0) = 0 then 'no-cost'
            when c.doubtful then 'cost-doubtful'
            when s.record_rows + coalesce(c.visit_rows, 0) = 1 then 'one-entry'
        end as held
    from member_season as s
    cross join (select * from limits_here where station = '' and species = '' and form = '') as l
    left join cost as c on c.member_no = s.member_no
    left join weeks as w on w.member_no = s.member_no
    left join waiting as q on q.member_no = s.member_no
    where s.registered
),
figured as (
    select
        *,
        value_minor - variable_minor as margin,
        cast(pow(10, 4 - $decimals) as bigint) * 1000 as to_price
    from base
)
select
    member_no, gbe_kg, value_minor, record_rows, visit_rows, weeks_recorded, weeks_recalled,
    case when coalesce(held, '') not in ('nothing-recorded', 'no-cost') then variable_minor end,
    case when coalesce(held, '') not in ('nothing-recorded', 'no-cost') then tools_minor end,
    case when coalesce(held, '') not in ('nothing-recorded', 'no-cost') then fixed_minor end,
    recalled_minor, credit_minor, family_days, hired_days,
    case when held is null then margin end,
    case when held is null then margin - fixed_minor end,
    case when held is null then cast(cast(div_half_away(
        cast(variable_minor + fixed_minor as hugeint) * to_price, cast(nullif(grams(gbe_kg), 0) as hugeint)
    ) as decimal(18, 0)) * 0.0001 as decimal(14, 4)) end as cost_per_kg,
    cast(cast(div_half_away(
        cast(value_minor as hugeint) * to_price, cast(nullif(grams(gbe_kg), 0) as hugeint)
    ) as decimal(18, 0)) * 0.0001 as decimal(14, 4)) as price_per_kg,
    case when held is null then cast(cast(div_half_away(
        cast(variable_minor as hugeint) * to_price, cast(nullif(grams(gbe_kg), 0) as hugeint)
    ) as decimal(18, 0)) * 0.0001 as decimal(14, 4)) end as break_even_price,
    case when held is null then kg_from_grams(cast(div_half_away(
        cast(variable_minor as hugeint) * grams(gbe_kg), cast(nullif(value_minor, 0) as hugeint)
    ) as bigint)) end as break_even_kg,
    case when held is null then cast(div_half_away(
        cast(margin as hugeint) * 10, cast(nullif(cast(family_days * 10 as bigint), 0) as hugeint)
    ) as bigint) end as per_family_day_minor,
    waiting_rows, held
from figured
order by member_no
