-- Grain: one row per counted payment to one member ($member).
select
    'payments' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    [['payment', 't' || payment_no, 'd' || day, 'wmethod:' || method]] as says
from payments
where state = 'counted' and member_no = $member
union all
select
    t.kind, t.sheet_no, t.row_no, 'amount', -t.amount_minor,
    [['payment_back', 't' || e.corrects, 'd' || t.day], ['for_item', 't' || e.reason]]
from transfers as t
inner join money_entries as e on e.sheet_no = t.sheet_no and e.row_no = t.row_no
where t.kind = 'money_entries' and t.what = 'payment' and t.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'paid', s.paid_minor,
    [['so_far', 'd' || s.day]]
from season_so_far as s
where s.state = 'counted' and s.member_no = $member and s.paid_minor is not null
order by sheet_no, row_no
