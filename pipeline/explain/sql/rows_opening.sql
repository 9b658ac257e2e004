-- Grain: one row per opening balance owed to one member ($member).
select
    'opening_balances' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    'owed on ' || day || coalesce(', ' || document, '') as says
from opening_balances
where state = 'counted' and balance_of = 'owed_to_member' and member_no = $member
order by day, sheet_no, row_no
