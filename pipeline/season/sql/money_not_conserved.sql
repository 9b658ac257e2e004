-- Grain: one row per kind of movement whose sum over the members' totals is not the ledger's, or
-- whose ledger sum is not that of the rows it came from. None where the money adds up.
-- The sums of `transfers`, from the tables that it shows: to make a movement of each deduction of each weighing
-- takes ten times as long as to add them up.
with taken as (
    select sum(value_minor) as value_minor, sum(list_sum(deducted_minor)) as deducted_minor from settlements
),
ledger as (
    select what, cast(sum(amount_minor) as hugeint) as amount_minor
    from (
        select 'coffee' as what, value_minor as amount_minor from taken
        union all
        select 'deduction', -deducted_minor from taken
        union all
        select 'payment', -amount_minor from payments where state = 'counted'
        union all
        select what, case when to_account = 'member' then amount_minor else -amount_minor end
        from movements
        where 'member' in (from_account, to_account)
    )
    group by what
),
on_statements as (
    select
        cast(sum(opening_minor) as hugeint) as opening,
        cast(sum(value_minor) as hugeint) as coffee,
        cast(sum(premium_minor) as hugeint) as premium,
        cast(sum(second_minor) as hugeint) as second,
        cast(sum(other_minor) as hugeint) as other,
        cast(-sum(deducted_minor) as hugeint) as deduction,
        cast(-sum(paid_minor) as hugeint) as payment
    from member_season
),
members_sum as (
    unpivot on_statements on opening, coffee, premium, second, other, deduction, payment
    into name what value amount_minor
),
ledger_sum as (
    select
        case when what in ('adjustment', 'moved', 'unclaimed') then 'other' else what end as what,
        sum(amount_minor) as amount_minor
    from ledger
    group by 1
),
source as (
    select what, sum(amount_minor) as amount_minor
    from (
        select 'coffee' as what, v.value_minor as amount_minor
        from valued as v
        anti join (select sheet_no, row_no from exceptions where kind = 'weighings') as e
            on e.sheet_no = v.sheet_no and e.row_no = v.row_no
        union all
        select 'coffee', value_minor from season_so_far where state = 'counted'
        union all
        select 'payment', -amount_minor from payments where state = 'counted'
        union all
        select 'payment', -paid_minor from season_so_far where state = 'counted'
        union all
        select 'payment', amount_minor from money_entries where state = 'counted' and entry = 'returned'
        union all
        select 'second', amount_minor from second_payments where state = 'counted'
    )
    group by what
),
-- What the office entered moves what is owed, or is a loan, a charge or shares: each has its place.
loans as (
    select
        (select coalesce(sum(loan_minor), 0) from member_season) as one,
        (
            select coalesce(sum(owed), 0)
            from (
                select amount_minor as owed from opening_balances
                where state = 'counted' and balance_of = 'owed_by_member'
                union all
                select amount_minor + coalesce(charge_minor, 0) from credit where state = 'counted'
                union all
                select amount_minor from money_entries
                where state = 'counted' and entry = 'moved' and balance_of = 'owed_by_member'
                union all
                select -s.deducted_minor[d.position]
                from settlements as s
                cross join (select position from deductions where takes = 'credit') as d
                union all
                select -m.amount_minor
                from movements as m
                inner join deductions as d on m.to_account = 'deduction:' || d.deduction
                where d.takes = 'credit'
            )
        ) as other
)
select 'statements' as where_found, m.what, m.amount_minor as one, l.amount_minor as other
from members_sum as m
left join ledger_sum as l on l.what = m.what
where coalesce(m.amount_minor, 0) <> coalesce(l.amount_minor, 0)
union all
select 'rows', coalesce(s.what, l.what), s.amount_minor, l.amount_minor
from source as s
full join (select * from ledger where what in ('coffee', 'payment', 'second')) as l on l.what = s.what
where coalesce(s.amount_minor, 0) <> coalesce(l.amount_minor, 0)
union all
select 'loans', 'credit', one, other from loans where one <> other
union all
select 'balance', 'balance', sum(balance_minor), sum(added)
from (
    select
        balance_minor,
        opening_minor + value_minor + premium_minor + second_minor + other_minor - deducted_minor
            - paid_minor as added
    from member_season
)
having sum(balance_minor) <> sum(added)
