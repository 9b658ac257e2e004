-- Grain: one row per movement of money that no weighing brings and that is no payment: what the season was
-- worth and held back and paid before the book began, opening balances, payments that came back, second
-- payments, and what the office entered. Loans and charges are owed apart, and only what a deduction takes
-- of them moves what is owed for coffee.
insert into movements
select
    day, what, from_account, to_account, member_no, amount_minor, kind, sheet_no, row_no
from (
    select
        s.day, m.what, m.from_account, m.to_account, s.member_no, m.amount_minor, 'season_so_far' as kind,
        s.sheet_no, s.row_no
    from season_so_far as s,
        lateral (
            values
                ('coffee', 'coffee', 'member', s.value_minor),
                ('deduction', 'member', 'deduction:before', s.deducted_minor),
                ('payment', 'member', 'before', s.paid_minor)
        ) as m (what, from_account, to_account, amount_minor)
    where s.state = 'counted' and m.amount_minor is not null
    union all
    select
        o.day, m.what, m.from_account, m.to_account, o.member_no, o.amount_minor,
        'opening_balances', o.sheet_no, o.row_no
    from opening_balances as o
    inner join (
        values
            ('owed_to_member', 'opening', 'opening', 'member'),
            ('overpaid', 'opening', 'member', 'opening'),
            ('owed_by_member', 'credit', 'loan', 'opening'),
            ('shares', 'shares', 'opening', 'shares'),
            ('unclaimed', 'kept', 'opening', 'unclaimed')
    ) as m (balance_of, what, from_account, to_account) on m.balance_of = o.balance_of
    where o.state = 'counted' and o.amount_minor <> 0
    union all
    select
        day, 'credit', 'loan', 'credit:' || credit_kind, member_no,
        amount_minor + coalesce(charge_minor, 0), 'credit', sheet_no, row_no
    from credit
    where state = 'counted'
    union all
    select day, 'second', 'second', 'member', member_no, amount_minor, 'second_payments', sheet_no, row_no
    from second_payments
    where state = 'counted'
    union all
    select
        e.day, m.what, m.from_account, m.to_account, e.member_no, e.amount_minor,
        'money_entries', e.sheet_no, e.row_no
    from money_entries as e
    inner join (
        values
            ('correction_up', 'adjustment', 'adjustment', 'member'),
            ('correction_down', 'adjustment', 'member', 'adjustment'),
            ('shares_in', 'shares', 'cash', 'shares'),
            ('shares_out', 'adjustment', 'shares', 'member'),
            ('unclaimed', 'unclaimed', 'member', 'unclaimed'),
            ('claimed', 'unclaimed', 'unclaimed', 'member')
    ) as m (entry, what, from_account, to_account) on m.entry = e.entry
    where e.state = 'counted'
    union all
    -- A payment that came back is taken back from where it was paid.
    select
        e.day, 'payment', p.method, 'member', e.member_no, e.amount_minor,
        'money_entries', e.sheet_no, e.row_no
    from money_entries as e
    inner join (
        select payment_no, member_no, any_value(method order by sheet_no, row_no) as method
        from payments
        where state = 'counted'
            and payment_no in (select corrects from money_entries where entry = 'returned')
        group by payment_no, member_no
    ) as p on p.payment_no = e.corrects and p.member_no = e.member_no
    where e.state = 'counted' and e.entry = 'returned'
    union all
    -- What is moved leaves one member and comes to the other: two rows of the same sum.
    select
        e.day, m.what, m.from_account, m.to_account,
        case when m.side = 1 then e.member_no else e.other_member end, e.amount_minor,
        'money_entries', e.sheet_no, e.row_no
    from money_entries as e
    inner join (
        values
            ('owed_to_member', 1, 'moved', 'member', 'moved'),
            ('owed_to_member', 2, 'moved', 'moved', 'member'),
            ('shares', 1, 'shares', 'shares', 'moved'),
            ('shares', 2, 'shares', 'moved', 'shares'),
            ('owed_by_member', 2, 'credit', 'loan', 'moved')
    ) as m (balance_of, side, what, from_account, to_account)
        on m.balance_of = coalesce(e.balance_of, 'owed_to_member')
    where e.state = 'counted' and e.entry = 'moved' and e.other_member is not null
) as entered
