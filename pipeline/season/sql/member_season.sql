-- Grain: one row per member in the register: coffee, money and farm record of the season.
-- Nothing recorded gives null costs and margin, never nought.
insert into member_season
with coffee as (
    select
        member_no,
        cast(sum(deliveries) as bigint) as deliveries,
        cast(sum(gbe_kg) as decimal(14, 3)) as gbe_kg
    from member_coffee
    group by member_no
),
money as (
    select
        member_no,
        cast(sum(amount_minor) filter (where what = 'opening') as bigint) as opening_minor,
        cast(sum(amount_minor) filter (where what = 'coffee') as bigint) as value_minor,
        cast(sum(amount_minor) filter (where what = 'premium') as bigint) as premium_minor,
        cast(sum(amount_minor) filter (where what = 'second') as bigint) as second_minor,
        cast(sum(amount_minor) filter (where what in ('adjustment', 'moved', 'unclaimed')) as bigint)
            as other_minor,
        cast(-sum(amount_minor) filter (where what = 'deduction') as bigint) as deducted_minor,
        cast(-sum(amount_minor) filter (where what = 'payment') as bigint) as paid_minor
    from (
        select member_no, what, amount_minor from transfers where to_account = 'member'
        union all
        select member_no, what, -amount_minor from transfers where from_account = 'member'
    )
    group by member_no
),
-- What is owed on loans, and what is paid in: apart from what is owed for coffee.
apart as (
    select
        t.member_no,
        cast(sum(case
            when t.from_account = 'loan' then t.amount_minor
            when d.takes = 'credit' then -t.amount_minor
            else 0
        end) as bigint) as loan_minor,
        cast(sum(case
            when t.to_account = 'shares' or d.takes = 'shares' then t.amount_minor
            when t.from_account = 'shares' then -t.amount_minor
            else 0
        end) as bigint) as shares_minor
    from transfers as t
    left join deductions as d on t.to_account = 'deduction:' || d.deduction
    where d.takes in ('credit', 'shares') or t.from_account in ('loan', 'shares')
        or t.to_account = 'shares'
    group by t.member_no
),
later as (
    -- A loan that is not repaid yet is a balance of its own.
    select u.member_no, cast(sum(u.amount_minor) as bigint) as untaken_minor
    from untaken as u
    inner join deductions as d on d.deduction = u.deduction and d.takes <> 'credit'
    group by u.member_no
),
waiting as (
    select member_no, count(*) as waiting_rows, sum(net_kg) as waiting_kg
    from weighings
    where state in ('held', 'sent_back')
    group by member_no
),
farm as (
    select
        member_no,
        count(*) as record_rows,
        count(distinct date_trunc('week', day)) as record_weeks,
        cast(coalesce(sum(cost_minor), 0) as bigint) as record_cost_minor,
        cast(sum(family_days) as decimal(14, 1)) as family_days,
        cast(sum(hired_days) as decimal(14, 1)) as hired_days
    from farm_record
    where state = 'counted'
    group by member_no
)
select
    m.member_no,
    coalesce(y.opening_minor, 0) as opening_minor,
    coalesce(c.deliveries, 0) as deliveries,
    coalesce(c.gbe_kg, 0) as gbe_kg,
    coalesce(y.value_minor, 0) as value_minor,
    coalesce(y.premium_minor, 0) as premium_minor,
    coalesce(y.second_minor, 0) as second_minor,
    coalesce(y.other_minor, 0) as other_minor,
    coalesce(y.deducted_minor, 0) as deducted_minor,
    coalesce(y.paid_minor, 0) as paid_minor,
    coalesce(y.opening_minor, 0) + coalesce(y.value_minor, 0) + coalesce(y.premium_minor, 0)
        + coalesce(y.second_minor, 0) + coalesce(y.other_minor, 0) - coalesce(y.deducted_minor, 0)
        - coalesce(y.paid_minor, 0) as balance_minor,
    coalesce(a.loan_minor, 0) as loan_minor,
    coalesce(a.shares_minor, 0) as shares_minor,
    coalesce(u.untaken_minor, 0) as untaken_minor,
    coalesce(w.waiting_rows, 0) as waiting_rows,
    coalesce(w.waiting_kg, 0) as waiting_kg,
    coalesce(f.record_rows, 0) as record_rows,
    coalesce(f.record_weeks, 0) as record_weeks,
    f.record_cost_minor,
    f.family_days,
    f.hired_days,
    coalesce(y.value_minor, 0) + coalesce(y.premium_minor, 0) + coalesce(y.second_minor, 0)
        - f.record_cost_minor as margin_minor,
    -- Money per kg green with four places: minor x 1000 x 10^(4 - decimals) over grams.
    cast(cast(div_half_away(
        cast(coalesce(y.value_minor, 0) + coalesce(y.premium_minor, 0) + coalesce(y.second_minor, 0)
        - f.record_cost_minor as hugeint) * 1000
        * cast(pow(10, 4 - $decimals) as bigint),
        cast(nullif(grams(c.gbe_kg), 0) as hugeint)
    ) as decimal(18, 0)) * 0.0001 as decimal(14, 4)) as margin_per_kg
from members as m
left join coffee as c on c.member_no = m.member_no
left join money as y on y.member_no = m.member_no
left join apart as a on a.member_no = m.member_no
left join later as u on u.member_no = m.member_no
left join waiting as w on w.member_no = m.member_no
left join farm as f on f.member_no = m.member_no
where m.state = 'counted'
order by m.member_no;
