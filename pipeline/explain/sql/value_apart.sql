-- Grain: one row: one balance ($one) of one member ($member) that is kept apart; null where none.
select cast(sum(amount_minor) as bigint) as value
from opening_balances
where state = 'counted' and balance_of <> 'owed_to_member' and balance_of = $one
    and member_no = $member
