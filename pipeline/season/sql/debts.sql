-- Grain: one row per sum that a deduction is to take, or that was given back of a loan otherwise (paid_minor),
-- by the day from which it stands. What an earlier season could not take is taken by the deduction that
-- asked it, or where the book has none of that code, as a charge.
create or replace temp table debts as
select
    d.position, debt.member_no, debt.day, debt.owed_minor, debt.paid_minor, debt.kind, debt.sheet_no, debt.row_no
from (
    select
        case when balance_of = 'owed_by_member' then 'credit' else 'charges' end as takes,
        case when balance_of = 'charges_due' then deduction end as asked_by,
        member_no, day, amount_minor as owed_minor, 0 as paid_minor, 'opening_balances' as kind,
        sheet_no, row_no
    from opening_balances
    where state = 'counted' and amount_minor <> 0 and balance_of in ('owed_by_member', 'charges_due')
    union all
    select
        'credit', null, member_no, day, amount_minor + coalesce(charge_minor, 0), 0, 'credit', sheet_no, row_no
    from credit
    where state = 'counted'
    union all
    select 'charges', null, member_no, day, amount_minor, 0, 'money_entries', sheet_no, row_no
    from money_entries
    where state = 'counted' and entry = 'charge'
    union all
    select
        'credit', null, m.member_no, e.day, m.owed_minor, m.paid_minor, 'money_entries', e.sheet_no, e.row_no
    from money_entries as e,
        lateral (
            values
                (e.member_no, 0, e.amount_minor),
                (case when e.entry = 'moved' then e.other_member end, e.amount_minor, 0)
        ) as m (member_no, owed_minor, paid_minor)
    where e.state = 'counted' and m.member_no is not null
        and (e.entry = 'repayment' or (e.entry = 'moved' and e.balance_of = 'owed_by_member'))
) as debt
left join (select * from deductions where takes <> 'credit') as asking on asking.deduction = debt.asked_by
inner join deductions as d
    on case when asking.deduction is null then d.takes = debt.takes else d.position = asking.position end
