-- Grain: one row per deduction that could not take all of one member ($member), at the row of the
-- member's last coffee or else of the entry that asks it.
with last as (
    select
        max_by(kind, (day, sheet_no, row_no)) as kind, max_by(sheet_no, (day, sheet_no, row_no)) as sheet_no,
        max_by(row_no, (day, sheet_no, row_no)) as row_no
    from (
        select 'weighings' as kind, day, sheet_no, row_no from weighings_valued
        where state = 'counted' and member_no = $member
        union all
        select 'money_entries', date '0001-01-01', sheet_no, row_no from money_entries
        where state = 'counted' and member_no = $member and entry = 'charge'
        union all
        select 'opening_balances', date '0001-01-01', sheet_no, row_no from opening_balances
        where state = 'counted' and member_no = $member and balance_of = 'charges_due'
    )
)
select
    l.kind, l.sheet_no, l.row_no, case when l.kind = 'weighings' then 'net_kg' else 'amount' end as col,
    u.amount_minor as amount, [['untaken', 'b' || d.name, 't' || d.authority]] as says
from untaken as u
inner join deductions as d on d.deduction = u.deduction and d.takes <> 'credit'
cross join last as l
where u.member_no = $member
order by d.position
