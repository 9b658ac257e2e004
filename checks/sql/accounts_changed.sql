-- Grain: one row per live row of members that says another account than the sheets before it said last.
-- Where no account is given, the telephone is where mobile money goes. Of both only the last three digits
-- are told.
with told as (
    select
        member_no, sheet_no, row_no,
        regexp_replace(coalesce(account, phone), '\s', '', 'g') as paid_to,
        lower(trim(coalesce(account_at, ''))) as paid_at
    from members
    where coalesce(account, phone) is not null and state not in ('sent_back', 'left_out')
),
changed as (
    select
        t.sheet_no, t.row_no, t.paid_to, t.paid_at,
        max_by(
            {'paid_to': e.paid_to, 'paid_at': e.paid_at}, (e.sheet_no, e.row_no)
        ) as earlier
    from told as t
    inner join told as e
        on e.member_no = t.member_no and (e.sheet_no, e.row_no) < (t.sheet_no, t.row_no)
        and (e.paid_to <> t.paid_to or e.paid_at <> t.paid_at)
    group by t.sheet_no, t.row_no, t.paid_to, t.paid_at
)
select
    r.*,
    case when r.account is null then 'phone' else 'account' end as col,
    cast(null as varchar) as value,
    c.paid_to, c.paid_at,
    c.earlier.paid_to as earlier_paid_to,
    c.earlier.paid_at as earlier_paid_at,
    right(c.paid_to, 3) as account_end,
    right(c.earlier.paid_to, 3) as earlier_end
from changed as c
inner join check_rows as r on r.sheet_no = c.sheet_no and r.row_no = c.row_no
