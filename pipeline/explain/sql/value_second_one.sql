-- Grain: one row: the second payment of one pool ($one) to one member ($member); null where none.
select cast(sum(amount_minor) as bigint) as value
from second_payments
where state = 'counted' and member_no = $member and pool = $one
