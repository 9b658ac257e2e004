-- Grain: one row: one deduction ($one) of all members together, minor units; null where none.
select cast(sum(amount_minor) as bigint) as value
from transfers
where what = 'deduction' and to_account = 'deduction:' || $one
