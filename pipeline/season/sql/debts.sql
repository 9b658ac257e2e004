-- Grain: one row per sum that a deduction ($deduction; $takes: credit, charges) is to take, or that was given
-- back of a loan otherwise (paid_minor), by the day from which it stands. What an earlier season could not
-- take is taken by the deduction that asked it, or where the book has none of that code, as a charge.
create or replace temp table debts as
select member_no, day, owed_minor, paid_minor, kind, sheet_no, row_no
from (
    select
        member_no, day, amount_minor as owed_minor, 0 as paid_minor, 'opening_balances' as kind,
        sheet_no, row_no
    from opening_balances
    where state = 'counted' and amount_minor <> 0 and (
        (balance_of = 'owed_by_member' and $takes = 'credit')
        or (balance_of = 'charges_due' and deduction = $deduction and $takes <> 'credit')
        or (
            balance_of = 'charges_due' and $takes = 'charges'
            and (deduction is null or deduction not in (select deduction from deductions where takes <> 'credit'))
        )
    )
    union all
    select member_no, day, amount_minor + coalesce(charge_minor, 0), 0, 'credit', sheet_no, row_no
    from credit
    where state = 'counted' and $takes = 'credit'
    union all
    select member_no, day, amount_minor, 0, 'money_entries', sheet_no, row_no
    from money_entries
    where state = 'counted' and entry = 'charge' and $takes = 'charges'
    union all
    select
        m.member_no, e.day, m.owed_minor, m.paid_minor, 'money_entries', e.sheet_no, e.row_no
    from money_entries as e,
        lateral (
            values
                (e.member_no, 0, e.amount_minor),
                (case when e.entry = 'moved' then e.other_member end, e.amount_minor, 0)
        ) as m (member_no, owed_minor, paid_minor)
    where e.state = 'counted' and $takes = 'credit' and m.member_no is not null
        and (e.entry = 'repayment' or (e.entry = 'moved' and e.balance_of = 'owed_by_member'))
) as debt
where member_no in (select member_no from money_members)
