-- Grain: one row per member and balance that goes over into the next season, minor units; none is nought.
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
        s.untaken_minor as charges_due,
        coalesce(k.unclaimed, 0) as unclaimed
    from member_season as s
    left join kept as k on k.member_no = s.member_no
)
select member_no, balance_of, amount_minor
from (
    unpivot balances on owed_to_member, overpaid, owed_by_member, shares, charges_due, unclaimed
    into name balance_of value amount_minor
)
where amount_minor <> 0
order by member_no, balance_of
