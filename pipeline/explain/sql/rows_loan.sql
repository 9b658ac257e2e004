-- Grain: one row per issue note, balance from before or repayment of one member's ($member) loan; of a
-- note, how much of it is repaid: the oldest first.
with repaid as (
    select t.kind, t.sheet_no, t.row_no, t.amount_minor
    from transfers as t
    inner join deductions as d on t.to_account = 'deduction:' || d.deduction and d.takes = 'credit'
    where t.member_no = $member
),
note as (
    select
        t.day, t.kind, t.sheet_no, t.row_no, t.amount_minor,
        sum(t.amount_minor) over (order by t.day, t.kind, t.sheet_no, t.row_no) - t.amount_minor as before
    from transfers as t
    where t.from_account = 'loan' and t.member_no = $member
)
select
    n.kind, n.sheet_no, n.row_no, 'amount' as col, n.amount_minor as amount,
    coalesce('issue note ' || c.note_no || ' of ' || n.day || coalesce(', ' || c.item, '')
        || coalesce(', with a charge of ' || chr(30) || nullif(c.charge_minor, 0) || chr(31), '')
        || coalesce(' (' || c.authority || ')', ''), 'owed on ' || n.day) || '; repaid: ' || chr(30)
        || greatest(least((select coalesce(sum(amount_minor), 0) from repaid) - n.before, n.amount_minor), 0)
        || chr(31) || ' of ' || chr(30) || n.amount_minor || chr(31) as says
from note as n
left join credit as c on n.kind = 'credit' and c.sheet_no = n.sheet_no and c.row_no = n.row_no
union all
select
    r.kind, r.sheet_no, r.row_no, case when r.kind = 'weighings' then 'net_kg' else 'amount' end,
    -r.amount_minor, case when r.kind = 'weighings' then 'repaid from this coffee' else 'repaid' end
from repaid as r
order by sheet_no, row_no
