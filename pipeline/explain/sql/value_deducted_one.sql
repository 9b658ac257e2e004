-- Grain: one row: one deduction ($one) of one member ($member), minor units; null where none.
select cast(sum(amount_minor) as bigint) as value
from transfers
where what = 'deduction' and member_no = $member and to_account = 'deduction:' || $one
