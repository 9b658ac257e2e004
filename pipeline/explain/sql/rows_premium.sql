-- Grain: one row per weighing and premium or discount ($one, or all) of one member ($member).
select
    t.kind, t.sheet_no, t.row_no, 'net_kg' as col,
    case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end as amount,
    p.name || ': ' || coalesce(plain_digits(p.percent) || ' % of the value', plain_digits(p.per_kg) || ' a kg of ' || v.paid_kg || ' kg')
        || ' (' || p.authority || ')' || case when p.discount then ', taken off' else '' end as says
from transfers as t
inner join premiums as p on 'premium:' || p.premium in (t.from_account, t.to_account)
inner join valued as v on v.sheet_no = t.sheet_no and v.row_no = t.row_no
where t.what = 'premium' and t.member_no = $member and ($one is null or p.premium = $one)
order by t.sheet_no, t.row_no, p.position
