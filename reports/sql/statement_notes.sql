-- Grain: one row per sum that a member owes on an issue note or from before, minor units.
select member_no, day, note_no as note, coalesce(item, replace(credit_kind, '_', ' ')) as item,
    amount_minor + coalesce(charge_minor, 0) as amount_minor, due_on, sheet_no, row_no
from credit
where state = 'counted' and member_no in (select unnest($members::varchar[]))
union all
select member_no, day, coalesce(document, ''), null, amount_minor, null, sheet_no, row_no
from opening_balances
where state = 'counted' and balance_of = 'owed_by_member' and amount_minor <> 0
    and member_no in (select unnest($members::varchar[]))
order by member_no, day, note, sheet_no, row_no
