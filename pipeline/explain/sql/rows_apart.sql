-- Grain: one row per balance ($one) of one member ($member) that is kept apart from coffee money.
select
    'opening_balances' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    'as it stood on ' || day || coalesce(', ' || document, '') as says
from opening_balances
where state = 'counted' and balance_of <> 'owed_to_member' and balance_of = $one
    and member_no = $member
order by day, sheet_no, row_no
