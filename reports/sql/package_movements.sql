-- Grain: one row per movement of money, minor units. Names are text to other programs.
select
    day, cast(what as varchar) as what, from_account, to_account, member_no, amount_minor,
    cast(kind as varchar) as kind, sheet_no, row_no
from transfers
order by day, kind, sheet_no, row_no, what, from_account, to_account, member_no, amount_minor
