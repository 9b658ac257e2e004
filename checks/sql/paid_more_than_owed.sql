-- Grain: one row per payment after which a member has had more than was owed up to that day, with the
-- member's weighings of by then that wait: they may be what was paid for.
with counts_by as (
    -- What comes between two days of payments counts by the later one.
    select d.day, min(p.day) as payday
    from (select distinct day from member_account) as d
    inner join (select distinct day from transfers where what = 'payment') as p on p.day >= d.day
    group by d.day
),
-- Numbers are grouped sooner than texts: that two members of a book share one of 2^64 is not to be expected.
by_payday as (
    select
        hash(t.member_no) as member_key, c.payday,
        cast(sum(t.amount_minor) as bigint) as left_minor
    from member_account as t
    inner join counts_by as c on c.day = t.day
    group by member_key, c.payday
),
balance as (
    select
        member_key, payday,
        cast(sum(left_minor) over (
            partition by member_key order by payday rows unbounded preceding
        ) as bigint) as left_minor
    from by_payday
),
-- Few members were ever paid too much by the end of a day: only their payments are looked at one by one.
overpaid as (
    select distinct member_key
    from balance
    where left_minor < 0
),
payment as (
    select
        t.member_no, t.day, t.kind, t.sheet_no, t.row_no,
        case when t.to_account = 'member' then -t.amount_minor else t.amount_minor end as amount_minor
    from transfers as t
    inner join overpaid as o on o.member_key = hash(t.member_no)
    where t.what = 'payment' and 'member' in (t.from_account, t.to_account)
),
running as (
    select
        member_no, day, kind, sheet_no, row_no, amount_minor,
        sum(amount_minor) over (
            partition by member_no order by day, sheet_no, row_no rows unbounded preceding
        ) as paid_minor,
        sum(amount_minor) over (partition by member_no order by day) as paid_of_day_minor
    from payment
),
beyond as (
    -- Coffee of a day counts before that day's payments.
    select
        r.sheet_no, r.row_no, r.member_no, r.day, abs(r.amount_minor) as minor_at_stake,
        cast(b.left_minor + r.paid_of_day_minor as bigint) as owed_minor,
        cast(r.paid_minor as bigint) as paid_minor
    from running as r
    inner join balance as b on b.member_key = hash(r.member_no) and b.payday = r.day
    where r.kind = 'payments' and r.paid_minor > b.left_minor + r.paid_of_day_minor
),
waiting as (
    select
        b.sheet_no, b.row_no, count(*) as waiting_rows,
        cast(sum(w.net_kg) as decimal(14, 3)) as waiting_kg,
        min_by(
            concat_ws(' ', w.station, w.receipt_book, w.receipt_no, w.day),
            (w.day, w.sheet_no, w.row_no)
        ) as waiting_first
    from beyond as b
    inner join weighings as w
        on w.member_no = b.member_no and w.day <= b.day and w.state in ('held', 'sent_back')
    group by b.sheet_no, b.row_no
)
select
    b.sheet_no, b.row_no, b.owed_minor, b.paid_minor,
    coalesce(w.waiting_rows, 0) as waiting_rows,
    coalesce(w.waiting_kg, 0) as waiting_kg,
    coalesce(w.waiting_first, '-') as waiting_first,
    cast(null as decimal(14, 3)) as kg_at_stake,
    b.minor_at_stake
from beyond as b
left join waiting as w on w.sheet_no = b.sheet_no and w.row_no = b.row_no
