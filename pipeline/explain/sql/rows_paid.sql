-- Grain: one row per counted payment to one member ($member).
select
    'payments' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    'payment ' || payment_no || ' on ' || day || ', ' || method as says
from payments
where state = 'counted' and member_no = $member
order by day, sheet_no, row_no
