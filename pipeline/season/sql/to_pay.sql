-- Grain: one row per member to whom something is owed: the balance in minor units, how the last payment
-- was made, and where to pay; accounts as the register has them last.
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
)
select
    s.member_no, r.name, r.village, r.station, r.account, r.account_at, r.phone, r.heirs, r.left_on,
    s.balance_minor, coalesce(l.method, 'cash') as method
from member_season as s
inner join register as r on r.member_no = s.member_no
left join last_way as l on l.member_no = s.member_no
where s.balance_minor > 0
order by r.station, r.village, s.member_no
