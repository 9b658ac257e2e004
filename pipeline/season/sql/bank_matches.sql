-- Grain: one row per payment (or money that came back) and bank, mobile-money or cash-book line that are
-- taken for the same, per one without the other, and why. Minor units, out of the account positive.
-- By payment number or reference; else by member, sum and at most $days days apart; else by sum and days
-- alone; these last two only where neither side has another that fits.
with moved as (
    select
        t.kind, t.sheet_no, t.row_no, t.day, t.member_no,
        case when t.kind = 'payments' then t.to_account else t.from_account end as method,
        case when t.kind = 'payments' then t.amount_minor else -t.amount_minor end as out_minor,
        case when t.kind = 'payments' then p.payment_no else e.corrects end as payment_no,
        p.reference
    from transfers as t
    left join payments as p on t.kind = 'payments' and p.sheet_no = t.sheet_no and p.row_no = t.row_no
    left join money_entries as e
        on t.kind = 'money_entries' and e.sheet_no = t.sheet_no and e.row_no = t.row_no
    where t.what = 'payment' and t.kind in ('payments', 'money_entries')
),
line as (
    select
        sheet_no, row_no, day, case channel when 'cash_book' then 'cash' else channel end as method,
        coalesce(money_out_minor, 0) - coalesce(money_in_minor, 0) as out_minor,
        member_no, payment_no, reference, description
    from bank_lines
    where state = 'counted'
),
named as (
    select m.kind, m.sheet_no, m.row_no, l.sheet_no as line_sheet, l.row_no as line_row, l.day,
        m.out_minor = l.out_minor as same_sum, abs(m.day - l.day) as days_apart
    from moved as m
    inner join line as l
        on l.method = m.method and sign(l.out_minor) = sign(m.out_minor)
        and (l.payment_no = m.payment_no or l.reference = m.reference)
),
by_name as (
    select kind, sheet_no, row_no, line_sheet, line_row,
        case when same_sum then 'named' else 'named, sums differ' end as why
    from named
    qualify row_number() over (
            partition by kind, sheet_no, row_no order by same_sum desc, days_apart, line_sheet, line_row
        ) = 1
        and row_number() over (
            partition by line_sheet, line_row order by same_sum desc, days_apart, sheet_no, row_no
        ) = 1
),
open_moved as (select * from moved anti join by_name using (kind, sheet_no, row_no)),
open_line as (
    select l.* from line as l
    anti join by_name as b on b.line_sheet = l.sheet_no and b.line_row = l.row_no
),
by_member as (
    select m.kind, m.sheet_no, m.row_no, l.sheet_no as line_sheet, l.row_no as line_row,
        'member, sum and days' as why
    from open_moved as m
    inner join open_line as l
        on l.method = m.method and l.out_minor = m.out_minor and l.member_no = m.member_no
        and abs(l.day - m.day) <= $days
    qualify count(*) over (partition by m.kind, m.sheet_no, m.row_no) = 1
        and count(*) over (partition by l.sheet_no, l.row_no) = 1
),
left_moved as (select * from open_moved anti join by_member using (kind, sheet_no, row_no)),
left_line as (
    select l.* from open_line as l
    anti join by_member as b on b.line_sheet = l.sheet_no and b.line_row = l.row_no
),
by_sum as (
    select m.kind, m.sheet_no, m.row_no, l.sheet_no as line_sheet, l.row_no as line_row,
        'sum and days' as why
    from left_moved as m
    inner join left_line as l
        on l.method = m.method and l.out_minor = m.out_minor and l.member_no is null
        and abs(l.day - m.day) <= $days
    qualify count(*) over (partition by m.kind, m.sheet_no, m.row_no) = 1
        and count(*) over (partition by l.sheet_no, l.row_no) = 1
),
pairs as (
    select * from by_name
    union all
    select * from by_member
    union all
    select * from by_sum
)
select
    coalesce(m.method, l.method) as method,
    case when m.kind is null then 'no payment' else coalesce(p.why, 'no line') end as why,
    m.payment_no, m.member_no, m.day as paid_on, m.out_minor as paid_minor,
    l.day as line_on, l.out_minor as line_minor, coalesce(l.reference, l.description) as line_says,
    ms.name as paid_sheet, m.row_no as paid_row, ls.name as line_sheet, l.row_no as line_row
from moved as m
left join pairs as p on p.kind = m.kind and p.sheet_no = m.sheet_no and p.row_no = m.row_no
full join line as l on l.sheet_no = p.line_sheet and l.row_no = p.line_row
left join sheets as ms on ms.sheet_no = m.sheet_no
left join sheets as ls on ls.sheet_no = l.sheet_no
order by method, why, coalesce(m.day, l.day), m.payment_no, paid_sheet, paid_row, line_sheet, line_row
