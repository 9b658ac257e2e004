-- Grain: one row per member and premium or discount, second payment, or entry of the office that moves
-- what is owed; minor units, a debit of the member's negative.
select
    t.member_no, t.what,
    case t.what
        when 'premium' then case when t.to_account = 'member' then substr(t.from_account, 9)
            else substr(t.to_account, 9) end
        when 'second' then s.pool
        else e.entry_no
    end as code,
    any_value(t.day) as day,
    any_value(p.name) as name,
    any_value(coalesce(p.authority, s.resolution_no)) as authority,
    any_value(s.resolution_on) as resolution_on,
    any_value(s.kg) as kg,
    any_value(s.rate_per_kg) as rate_per_kg,
    any_value(e.entry) as entry,
    any_value(e.reason) as reason,
    any_value(e.corrects) as corrects,
    any_value(case when t.from_account = 'moved' or t.to_account = 'moved' then
        case when e.member_no = t.member_no then e.other_member else e.member_no end end) as other_member,
    sum(case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end)::bigint
        as amount_minor
from transfers as t
left join premiums as p
    on t.what = 'premium' and 'premium:' || p.premium in (t.from_account, t.to_account)
left join second_payments as s
    on t.kind = 'second_payments' and s.sheet_no = t.sheet_no and s.row_no = t.row_no
left join money_entries as e
    on t.kind = 'money_entries' and e.sheet_no = t.sheet_no and e.row_no = t.row_no
where t.what in ('premium', 'second', 'adjustment', 'moved', 'unclaimed')
    and 'member' in (t.from_account, t.to_account)
    and t.member_no in (select unnest($members::varchar[]))
group by t.member_no, t.what, code
order by t.member_no, min(p.position), t.what desc, code
