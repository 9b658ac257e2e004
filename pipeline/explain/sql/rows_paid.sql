-- Grain: one row per counted payment to one member ($member).
select
    'payments' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    'payment ' || payment_no || ' on ' || day || ', ' || method as says
from payments
where state = 'counted' and member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'paid', s.paid_minor,
    'the season up to ' || s.day || ', before the book began'
from season_so_far as s
where s.state = 'counted' and s.member_no = $member and s.paid_minor is not null
order by sheet_no, row_no
