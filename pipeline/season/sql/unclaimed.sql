-- Grain: one row per member with money that nobody has fetched: kept as unclaimed, or owed though the
-- member left or a payment came back; minor units, with the heirs that the register names.
with register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name, max_by(village, (sheet_no, row_no)) as village,
        max_by(heirs, (sheet_no, row_no)) as heirs, max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
),
kept as (
    select member_no, min(day) as since, sum(case
        when to_account = 'unclaimed' then amount_minor else -amount_minor end) as kept_minor
    from transfers
    where 'unclaimed' in (from_account, to_account)
    group by member_no
),
back as (
    select member_no, min(day) as since, sum(amount_minor) as back_minor
    from transfers
    where what = 'payment' and to_account = 'member'
    group by member_no
)
select
    r.member_no, r.name, r.village, r.heirs, r.left_on,
    cast(coalesce(k.kept_minor, 0) as bigint) as kept_minor,
    cast(case when r.left_on is not null or b.member_no is not null
        then greatest(s.balance_minor, 0) else 0 end as bigint) as owed_minor,
    coalesce(k.since, b.since, r.left_on) as since
from register as r
inner join member_season as s on s.member_no = r.member_no
left join kept as k on k.member_no = r.member_no
left join back as b on b.member_no = r.member_no
where coalesce(k.kept_minor, 0) <> 0
    or ((r.left_on is not null or b.member_no is not null) and s.balance_minor > 0)
order by r.village, r.member_no
