-- Grain: one row per weighing and premium or discount ($one, or all) of one member ($member).
select
    t.kind, t.sheet_no, t.row_no, 'net_kg' as col,
    case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end as amount,
    [
        case
            when p.percent is not null then ['of_value', 'b' || p.name, 'n' || plain_digits(p.percent)]
            else ['of_kg', 'b' || p.name, 'n' || plain_digits(p.per_kg), 'n' || v.paid_kg]
        end,
        ['allowed_by', 't' || p.authority],
        case when p.discount then ['taken_off'] end
    ] as says
from transfers as t
inner join premiums as p on 'premium:' || p.premium in (t.from_account, t.to_account)
inner join weighings_valued as v on v.member_no = $member and v.sheet_no = t.sheet_no and v.row_no = t.row_no
where t.what = 'premium' and t.member_no = $member and ($one is null or p.premium = $one)
order by t.sheet_no, t.row_no, p.position
