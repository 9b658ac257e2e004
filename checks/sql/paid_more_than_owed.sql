-- Grain: one row per payment after which a member has had more than was owed up to that day, with the
-- member's weighings of by then that wait: they may be what was paid for.
with counts_by as (
    -- What comes between two days of payments counts by the later one.
    select d.day, min(p.day) as payday
    from (select distinct day from transfers) as d
    inner join (select distinct day from transfers where what = 'payment') as p on p.day >= d.day
    group by d.day
),
by_payday as (
    select
        t.member_no, c.payday,
        sum(case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end) as left_minor
    from transfers as t
    inner join counts_by as c on c.day = t.day
    where 'member' in (t.from_account, t.to_account)
    group by t.member_no, c.payday
),
-- Few members were ever paid too much by the end of a day: only theirs are looked at one by one.
overpaid as (
    select distinct member_no
    from (
        select
            member_no,
            sum(left_minor) over (partition by member_no order by payday rows unbounded preceding) as left_minor
        from by_payday
    ) as running
    where left_minor < 0
),
movement as (
    select
        member_no, day, what, kind, sheet_no, row_no,
        case when to_account = 'member' then amount_minor else -amount_minor end as credit_minor
    from transfers
    inner join overpaid using (member_no)
    where 'member' in (from_account, to_account)
),
running as (
    select
        member_no, day, what, kind, sheet_no, row_no,
        cast(sum(case when what = 'payment' then 0 else credit_minor end) over upto as bigint) as owed_minor,
        cast(sum(case when what = 'payment' then -credit_minor else 0 end) over upto as bigint) as paid_minor
    from movement
    window upto as (
        -- Coffee of a day counts before that day's payments.
        partition by member_no order by day, what = 'payment', sheet_no, row_no
        rows unbounded preceding
    )
),
beyond as (
    select sheet_no, row_no, member_no, day, owed_minor, paid_minor
    from running
    where what = 'payment' and kind = 'payments' and paid_minor > owed_minor
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
    coalesce(w.waiting_first, '-') as waiting_first
from beyond as b
left join waiting as w on w.sheet_no = b.sheet_no and w.row_no = b.row_no
