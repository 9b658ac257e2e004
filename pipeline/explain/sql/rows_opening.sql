-- Grain: one row per opening balance owed to one member ($member).
select
    'opening_balances' as kind, sheet_no, row_no, 'amount' as col,
    case when balance_of = 'overpaid' then -amount_minor else amount_minor end as amount,
    [[case when balance_of = 'overpaid' then 'overpaid_on' else 'owed_on' end, 'd' || day], ['also', 't' || document]] as says
from opening_balances
where state = 'counted' and balance_of in ('owed_to_member', 'overpaid') and member_no = $member
order by day, sheet_no, row_no
