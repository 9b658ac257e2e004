-- Grain: one row per movement of money: each counted weighing's value to its member, each deduction
-- from it rounded once, each counted payment; where a book began in mid-season, also what was owed
-- to members then and the season before. Order: day, sheet, row, then deductions in their order.
insert into transfers
with delivered as (
    select w.day, w.member_no, w.form, w.net_kg, v.value_minor, w.sheet_no, w.row_no
    from weighings as w
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    where w.state = 'counted'
),
movement as (
    select
        day, 'coffee' as what, 'coffee' as from_account, 'member' as to_account,
        member_no, value_minor as amount_minor, 'weighings' as kind, sheet_no, row_no, 0 as position
    from delivered
    union all
    select
        t.day, 'deduction', 'member', 'deduction:' || d.deduction,
        t.member_no,
        coalesce(
            percent_minor(t.value_minor, d.percent), per_kg_minor(t.net_kg, d.per_kg, $decimals)
        ),
        'weighings', t.sheet_no, t.row_no, d.position
    from delivered as t
    inner join deductions as d on d.form is null or d.form = t.form
    union all
    select
        day, 'payment', 'member', method, member_no, amount_minor, 'payments', sheet_no, row_no, 0
    from payments
    where state = 'counted'
    union all
    -- Loans and shares are balances apart: only what is owed for coffee is carried on.
    select
        day, 'opening', 'opening', 'member', member_no, amount_minor,
        'opening_balances', sheet_no, row_no, 0
    from opening_balances
    where state = 'counted' and balance_of = 'owed_to_member'
    union all
    select
        s.day, m.what, m.from_account, m.to_account, s.member_no, m.amount_minor,
        'season_so_far', s.sheet_no, s.row_no, m.position
    from season_so_far as s,
        lateral (
            values
                ('coffee', 'coffee', 'member', s.value_minor, 0),
                ('deduction', 'member', 'deduction:before', s.deducted_minor, 1),
                ('payment', 'member', 'before', s.paid_minor, 2)
        ) as m (what, from_account, to_account, amount_minor, position)
    where s.state = 'counted' and m.amount_minor is not null
)
select day, what, from_account, to_account, member_no, amount_minor, kind, sheet_no, row_no
from movement
order by day, kind desc, sheet_no, row_no, position;
