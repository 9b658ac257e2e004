-- Grain: one row per live row of members that gives another account than was agreed to before it, or the
-- first one where the member was in the register without. Of both only the last three digits are told.
-- `unlike_sheet` and `unlike_row` are the last row before it that gave another: a decision holds as long
-- as sheets go on giving the same, and not where they come back to it.
with earlier as (
    select
        g.sheet_no, g.row_no, g.col, g.paid_to, g.paid_at,
        max_by({'paid_to': e.paid_to, 'paid_at': e.paid_at}, (e.sheet_no, e.row_no)) filter (e.agreed) as agreed,
        max((e.sheet_no, e.row_no)) filter (e.paid_to <> g.paid_to or e.paid_at <> g.paid_at) as unlike
    from accounts_given as g
    left join accounts_given as e on e.member_no = g.member_no and (e.sheet_no, e.row_no) < (g.sheet_no, g.row_no)
    where not g.first and not g.amended
    group by g.sheet_no, g.row_no, g.col, g.paid_to, g.paid_at
)
select
    r.*,
    e.col,
    cast(null as varchar) as value,
    e.paid_to, e.paid_at,
    e.agreed.paid_to as earlier_paid_to,
    e.unlike[1] as unlike_sheet,
    e.unlike[2] as unlike_row,
    right(e.paid_to, 3) as account_end,
    right(e.agreed.paid_to, 3) as earlier_end
from earlier as e
inner join check_rows as r on r.sheet_no = e.sheet_no and r.row_no = e.row_no
where e.agreed is null or e.paid_to <> e.agreed.paid_to or e.paid_at <> e.agreed.paid_at
