-- Grain: one row per payment made to a member; minor units.
select
    t.member_no, t.day, p.payment_no, p.method,
    case when t.to_account = 'member' then -t.amount_minor else t.amount_minor end as amount_minor
from transfers as t
left join payments as p on t.kind = 'payments' and t.sheet_no = p.sheet_no and t.row_no = p.row_no
where t.what = 'payment' and t.member_no in (select unnest($members::varchar[]))
order by t.member_no, t.day, p.payment_no, t.sheet_no, t.row_no
