-- Grain: one row per movement of money from one account (its debit) to another (its credit): balanced by being
-- one row. what: opening, coffee, premium, second, adjustment, moved, unclaimed, deduction, payment; apart
-- from what is owed for coffee: credit, repayment, shares, kept. Accounts: member (what is owed for coffee),
-- loan (what the member owes; a deduction that takes credit is its other side), shares, opening, coffee,
-- premium:<code>, second, adjustment, moved, unclaimed, deduction:<code>, credit:<kind>, cash, bank, mobile;
-- `before` where the movement was made before the book began.
select
    day, 'coffee'::movement as what, 'coffee' as from_account, 'member' as to_account, member_no,
    value_minor as amount_minor, 'weighings'::money_kind as kind, sheet_no, row_no
from settlements
union all
select
    s.day, 'deduction'::movement, 'member', d.account, s.member_no, s.deducted_minor[d.position],
    'weighings'::money_kind, s.sheet_no, s.row_no
from settlements as s
inner join (select position, 'deduction:' || deduction as account from deductions) as d
    on s.deducted_minor[d.position] <> 0
union all
select
    day, 'payment'::movement, 'member', method, member_no, amount_minor, 'payments'::money_kind, sheet_no,
    row_no
from payments
where state = 'counted'
union all
select day, what, from_account, to_account, member_no, amount_minor, kind, sheet_no, row_no
from movements
