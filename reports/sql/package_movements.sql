-- Grain: one row per movement of money, minor units.
select day, what, from_account, to_account, member_no, amount_minor, kind, sheet_no, row_no
from transfers
order by day, kind, sheet_no, row_no, what, from_account, to_account, member_no, amount_minor
