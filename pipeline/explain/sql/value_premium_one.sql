-- Grain: one row: one premium or discount ($one) of one member ($member), minor units; null where none.
select cast(sum(case when to_account = 'member' then amount_minor else -amount_minor end) as bigint) as value
from transfers
where what = 'premium' and member_no = $member and 'premium:' || $one in (from_account, to_account)
