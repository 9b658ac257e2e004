-- Grain: one row per line of the season's money, minor units: what coffee sold for, what it cost, what
-- members were paid and are owed, loans, shares, and what is kept apart.
select line, amount_minor
from (
    select 1 as position, 'sales' as line, coalesce(sum(amount_minor), 0) as amount_minor
    from sales where state = 'counted'
    union all
    select 2, 'sales_not_paid_yet', coalesce(sum(amount_minor), 0)
    from sales where state = 'counted' and paid_on is null
    union all
    select 3, 'coffee', coalesce(sum(value_minor), 0) from member_season
    union all
    select 4, 'premiums', coalesce(sum(premium_minor), 0) from member_season
    union all
    select 5, 'second_payment', coalesce(sum(second_minor), 0) from member_season
    union all
    select 6, 'deductions', coalesce(sum(t.amount_minor), 0)
    from transfers as t
    left join deductions as d on t.to_account = 'deduction:' || d.deduction
    where t.what = 'deduction' and coalesce(d.takes, '') not in ('credit', 'shares')
    union all
    select 7, 'paid_to_members', coalesce(sum(paid_minor), 0) from member_season
    union all
    select 8, 'owed_to_members', coalesce(sum(greatest(balance_minor, 0)), 0) from member_season
    union all
    select 9, 'overpaid_to_members', coalesce(sum(greatest(-balance_minor, 0)), 0) from member_season
    union all
    select 10, 'loans_owed', coalesce(sum(loan_minor), 0) from member_season
    union all
    select 11, 'shares_paid_up', coalesce(sum(shares_minor), 0) from member_season
    union all
    select 12, 'unclaimed', coalesce(sum(
        case when to_account = 'unclaimed' then amount_minor else -amount_minor end), 0)
    from transfers where 'unclaimed' in (from_account, to_account)
    union all
    select 13, 'bank_in', coalesce(sum(money_in_minor), 0) from bank_lines where state = 'counted'
    union all
    select 14, 'bank_out', coalesce(sum(money_out_minor), 0) from bank_lines where state = 'counted'
)
order by position
