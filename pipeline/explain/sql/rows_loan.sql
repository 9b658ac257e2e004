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
    [
        case when c.note_no is null then ['owed_on', 'd' || n.day] else ['note', 't' || c.note_no, 'd' || n.day] end,
        ['also', 't' || c.item], ['charge', 'm' || nullif(c.charge_minor, 0)], ['allowed_by', 't' || c.authority],
        [
            'repaid_of', 'm' || n.amount_minor, 'm' || greatest(least(
                (select coalesce(sum(amount_minor), 0) from repaid) - n.before, n.amount_minor
            ), 0)
        ]
    ] as says
from note as n
left join credit as c on n.kind = 'credit' and c.sheet_no = n.sheet_no and c.row_no = n.row_no
union all
select
    r.kind, r.sheet_no, r.row_no, case when r.kind = 'weighings' then 'net_kg' else 'amount' end,
    -r.amount_minor, [[case when r.kind = 'weighings' then 'repaid_coffee' else 'repaid' end]]
from repaid as r
order by sheet_no, row_no
