-- Grain: one row per member in the register, and per number that coffee or money is booked under though
-- the register has no counted row of it: coffee, money and farm record of the season. Nothing recorded
-- gives null costs, never nought; the margin stands in member_margin.
insert into member_season
with coffee as (
    select
        member_no,
        cast(sum(deliveries) as bigint) as deliveries,
        cast(sum(gbe_kg) as decimal(14, 3)) as gbe_kg
    from member_coffee
    group by member_no
),
-- What each account is to a member: a deduction that takes credit gives the loan back, and one that
-- takes shares pays them in.
given as (
    select 'deduction:' || deduction as account, takes from deductions where takes in ('credit', 'shares')
    union all
    select 'shares', 'shares'
),
entered as (
    select
        t.member_no, t.what, t.amount_minor, t.from_account, g.takes,
        case 'member' when t.to_account then t.amount_minor when t.from_account then -t.amount_minor else 0 end
            as credit_minor
    from movements as t
    left join given as g on g.account = t.to_account
),
added as (
    select
        member_no, sum(value_minor) as value_minor, sum(list_sum(deducted_minor)) as deducted_minor
    from settlements
    group by member_no
    union all by name
    select
        s.member_no,
        -sum(s.deducted_minor[d.position]) filter (where d.takes = 'credit') as loan_minor,
        sum(s.deducted_minor[d.position]) filter (where d.takes = 'shares') as shares_minor
    from settlements as s
    inner join deductions as d on d.takes in ('credit', 'shares') and s.deducted_minor[d.position] <> 0
    group by s.member_no
    union all by name
    select member_no, sum(amount_minor) as paid_minor
    from payments
    where state = 'counted'
    group by member_no
    union all by name
    select
        member_no,
        sum(credit_minor) filter (where what = 'opening') as opening_minor,
        sum(credit_minor) filter (where what = 'coffee') as value_minor,
        sum(credit_minor) filter (where what = 'premium') as premium_minor,
        sum(credit_minor) filter (where what = 'second') as second_minor,
        sum(credit_minor) filter (where what in ('adjustment', 'moved', 'unclaimed')) as other_minor,
        -sum(credit_minor) filter (where what = 'deduction') as deducted_minor,
        -sum(credit_minor) filter (where what = 'payment') as paid_minor,
        -- Apart from what is owed for coffee: loans, and what is paid in.
        sum(case when from_account = 'loan' then amount_minor when takes = 'credit' then -amount_minor end)
            as loan_minor,
        sum(case when takes = 'shares' then amount_minor when from_account = 'shares' then -amount_minor end)
            as shares_minor
    from entered
    group by member_no
),
money as (
    select
        member_no,
        cast(sum(opening_minor) as bigint) as opening_minor,
        cast(sum(value_minor) as bigint) as value_minor,
        cast(sum(premium_minor) as bigint) as premium_minor,
        cast(sum(second_minor) as bigint) as second_minor,
        cast(sum(other_minor) as bigint) as other_minor,
        cast(sum(deducted_minor) as bigint) as deducted_minor,
        cast(sum(paid_minor) as bigint) as paid_minor,
        cast(sum(loan_minor) as bigint) as loan_minor,
        cast(sum(shares_minor) as bigint) as shares_minor
    from added
    group by member_no
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
),
-- What counts is owed to the number that it came under, whoever that is: a register row that waits must
-- not take money out of the book.
everyone as (
    select member_no, bool_or(registered) as registered
    from (
        select member_no, true as registered from members where state = 'counted'
        union all
        select member_no, false from coffee
        union all
        select member_no, false from money
        union all
        select member_no, false from later
    )
    group by member_no
)
select
    m.member_no,
    m.registered,
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
    coalesce(y.loan_minor, 0) as loan_minor,
    coalesce(y.shares_minor, 0) as shares_minor,
    coalesce(u.untaken_minor, 0) as untaken_minor,
    coalesce(w.waiting_rows, 0) as waiting_rows,
    coalesce(w.waiting_kg, 0) as waiting_kg,
    coalesce(f.record_rows, 0) as record_rows,
    coalesce(f.record_weeks, 0) as record_weeks,
    f.record_cost_minor,
    f.family_days,
    f.hired_days
from everyone as m
left join coffee as c on c.member_no = m.member_no
left join money as y on y.member_no = m.member_no
left join later as u on u.member_no = m.member_no
left join waiting as w on w.member_no = m.member_no
left join farm as f on f.member_no = m.member_no;
