-- Grain: one row per member and balance that goes over into the next season, minor units; none is nought.
-- What deductions could not take goes over by deduction and by what allows it, of charges each its own: the
-- oldest are taken first, so the youngest are still due. Inputs given for the season to come go with them.
with kept as (
    select
        member_no,
        cast(sum(case
            when to_account = 'unclaimed' then amount_minor
            when from_account = 'unclaimed' then -amount_minor
            else 0
        end) as bigint) as unclaimed
    from transfers
    where 'unclaimed' in (from_account, to_account)
    group by member_no
),
balances as (
    select
        s.member_no,
        greatest(s.balance_minor, 0) as owed_to_member,
        greatest(-s.balance_minor, 0) as overpaid,
        s.loan_minor as owed_by_member,
        s.shares_minor as shares,
        coalesce(k.unclaimed, 0) as unclaimed
    from member_season as s
    left join kept as k on k.member_no = s.member_no
),
asked as (
    select member_no, day, kind, sheet_no, row_no, amount_minor, deduction, authority
    from (
        select
            member_no, day, 'money_entries' as kind, sheet_no, row_no, amount_minor,
            cast(null as varchar) as deduction, authority
        from money_entries
        where state = 'counted' and entry = 'charge'
        union all
        select member_no, day, 'opening_balances', sheet_no, row_no, amount_minor, deduction, authority
        from opening_balances
        where state = 'counted' and balance_of = 'charges_due'
    )
),
due as (
    select
        u.member_no, u.deduction, d.authority, u.amount_minor as due_minor, d.takes,
        a.authority as own_authority, a.amount_minor,
        sum(a.amount_minor) over (
            partition by u.member_no, u.deduction order by a.day desc, a.kind desc, a.sheet_no desc, a.row_no desc
            rows unbounded preceding
        ) - a.amount_minor as younger
    from untaken as u
    inner join deductions as d on d.deduction = u.deduction and d.takes <> 'credit'
    left join asked as a on d.takes = 'charges' and a.member_no = u.member_no and (
        a.deduction is null or a.deduction = u.deduction
        or a.deduction not in (select deduction from deductions)
    )
),
charges as (
    select
        member_no, deduction, coalesce(own_authority, authority) as authority,
        cast(sum(
            case when amount_minor is null then due_minor
                else greatest(least(amount_minor, due_minor - younger), 0) end
        ) as bigint) as amount_minor
    from due
    group by member_no, deduction, coalesce(own_authority, authority)
),
given as (
    select
        c.member_no, c.for_season,
        cast(sum(c.amount_minor + coalesce(c.charge_minor, 0)) as bigint) as amount_minor
    from credit as c
    cross join season_days as d
    where c.state = 'counted' and c.for_season <> d.season and c.credit_kind in ('inputs', 'tools', 'seedlings')
    group by c.member_no, c.for_season
)
select member_no, balance_of, amount_minor, deduction, authority, for_season
from (
    select member_no, balance_of, amount_minor, null as deduction, null as authority, null as for_season
    from (
        unpivot balances on owed_to_member, overpaid, owed_by_member, shares, unclaimed
        into name balance_of value amount_minor
    )
    union all
    select member_no, 'charges_due', amount_minor, deduction, authority, null from charges
    union all
    select member_no, 'inputs_given', amount_minor, null, null, for_season from given
)
where amount_minor <> 0
order by member_no, balance_of, deduction nulls first, authority, for_season
