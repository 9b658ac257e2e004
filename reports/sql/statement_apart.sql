-- Grain: one row per member and balance that is kept apart from coffee money: loan, paid-up shares;
-- as they stood on the morning of `day`, minor units.
select member_no, balance_of, day, document, amount_minor
from opening_balances
where state = 'counted' and balance_of <> 'owed_to_member' and amount_minor <> 0
    and member_no in (select unnest($members::varchar[]))
order by member_no, balance_of, sheet_no, row_no
