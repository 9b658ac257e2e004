-- Grain: one row per member to whom something is owed: the balance in minor units, how the last payment
-- was made, and where to pay: as the register has it last, or, while a change of account waits for a second
-- person, as it was agreed last; account_waits tells of that.
with last_way as (
    select member_no, max_by(method, (day, sheet_no, row_no)) as method
    from payments
    where state = 'counted'
    group by member_no
),
register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name, max_by(village, (sheet_no, row_no)) as village,
        max_by(station, (sheet_no, row_no)) as station, max_by(account, (sheet_no, row_no)) as account,
        max_by(account_at, (sheet_no, row_no)) as account_at, max_by(phone, (sheet_no, row_no)) as phone,
        max_by(heirs, (sheet_no, row_no)) as heirs, max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
),
waits as (
    select distinct r.member_no
    from flags as f
    inner join rows_members as r on r.sheet_no = f.sheet_no and r.row_no = f.row_no
    where f.kind = 'members' and f.rule = 'account-changed' and f.decision is distinct from 'count'
),
-- Agreed are the account that was given first, and each that somebody else agreed to since or amended.
given as (
    select
        r.member_no, r.sheet_no, r.row_no, r.account, r.account_at, r.phone,
        row_number() over (partition by r.member_no order by r.sheet_no, r.row_no) = 1 or exists (
            select 1 from decisions as d
            where d.kind = 'members' and d.sheet_no = r.sheet_no and d.row_no = r.row_no
                and (d.rule = 'account-changed' and d.action = 'count'
                    or d.action = 'amend' and d.col in ('account', 'account_at', 'phone'))
        ) as agreed
    from members as r
    where coalesce(r.account, r.phone) is not null and r.state not in ('sent_back', 'left_out')
),
before as (
    select
        member_no,
        max_by({'account': account, 'account_at': account_at, 'phone': phone}, (sheet_no, row_no)) as paid
    from given
    where agreed
    group by member_no
)
select
    s.member_no, r.name, r.village, r.station,
    case when w.member_no is null then r.account else b.paid.account end as account,
    case when w.member_no is null then r.account_at else b.paid.account_at end as account_at,
    case when w.member_no is null then r.phone else b.paid.phone end as phone,
    r.heirs, r.left_on, s.balance_minor, coalesce(l.method, 'cash') as method,
    w.member_no is not null as account_waits
from member_season as s
inner join register as r on r.member_no = s.member_no
left join last_way as l on l.member_no = s.member_no
left join waits as w on w.member_no = s.member_no
left join before as b on b.member_no = s.member_no
where s.balance_minor > 0
order by r.station, r.village, s.member_no
