-- Grain: one row per member to whom something is owed: the balance in minor units, how the last payment
-- was made, and where to pay: the account that was agreed to last, whatever later sheets say;
-- account_waits tells that one of these waits for a second person.
with last_way as (
    select member_no, max_by(method, (day, sheet_no, row_no)) as method
    from payments
    where state = 'counted'
    group by member_no
),
register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name, max_by(village, (sheet_no, row_no)) as village,
        max_by(station, (sheet_no, row_no)) as station, max_by(heirs, (sheet_no, row_no)) as heirs,
        max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
),
asked as (
    select sheet_no, row_no, max(decision) as decision
    from flags
    where kind = 'members' and rule in ('account-changed', 'account-given-later')
    group by sheet_no, row_no
),
account as (
    select
        g.member_no,
        -- A row that is asked about is agreed to by the answer that holds for what it says now.
        max_by(
            {'account': g.account, 'account_at': g.account_at, 'phone': g.phone}, (g.sheet_no, g.row_no)
        ) filter (g.agreed and (a.sheet_no is null or a.decision = 'count')) as paid,
        coalesce(bool_or(a.sheet_no is not null and a.decision is null), false) as waits
    from accounts_given as g
    left join asked as a on a.sheet_no = g.sheet_no and a.row_no = g.row_no
    group by g.member_no
)
select
    s.member_no, r.name, r.village, r.station,
    a.paid.account as account, a.paid.account_at as account_at, a.paid.phone as phone,
    r.heirs, r.left_on, s.balance_minor, coalesce(l.method, 'cash') as method,
    coalesce(a.waits, false) as account_waits
from member_season as s
inner join register as r on r.member_no = s.member_no
left join last_way as l on l.member_no = s.member_no
left join account as a on a.member_no = s.member_no
where s.balance_minor > 0
order by r.station, r.village, s.member_no
