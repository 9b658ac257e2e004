-- Grain: one row per payment after which a member has had more than was owed up to that day, with the
-- member's weighings of by then that wait: they may be what was paid for.
with of_day as (
    select
        member_no, day,
        sum(case when to_account = 'member' then amount_minor else -amount_minor end) as left_minor
    from transfers
    where 'member' in (from_account, to_account)
    group by member_no, day
),
by_day as (
    select
        member_no,
        sum(left_minor) over (
            partition by member_no order by day rows unbounded preceding
        ) as left_minor
    from of_day
),
-- Few members were ever paid too much by the end of a day: only theirs are looked at one by one.
overpaid as (
    select distinct member_no
    from by_day
    where left_minor < 0
),
movement as (
    select
        member_no,
        day,
        case when what = 'payment' then 0 else credit_minor end as owed_minor,
        case when what = 'payment' then -credit_minor else 0 end as paid_minor,
        what,
        kind,
        sheet_no,
        row_no
    from (
        select
            *, case when to_account = 'member' then amount_minor else -amount_minor end as credit_minor
        from transfers
        where 'member' in (from_account, to_account)
    ) as signed
    inner join overpaid using (member_no)
),
running as (
    select
        what,
        kind,
        sheet_no,
        row_no,
        cast(sum(owed_minor) over upto as bigint) as owed_minor,
        cast(sum(paid_minor) over upto as bigint) as paid_minor
    from movement
    window upto as (
        -- Coffee of a day counts before that day's payments.
        partition by member_no order by day, what = 'payment', sheet_no, row_no
        rows unbounded preceding
    )
),
waiting as (
    select
        c.sheet_no, c.row_no, count(*) as waiting_rows,
        cast(sum(w.net_kg) as decimal(14, 3)) as waiting_kg,
        min_by(
            concat_ws(' ', w.station, w.receipt_book, w.receipt_no, w.day),
            (w.day, w.sheet_no, w.row_no)
        ) as waiting_first
    from check_rows as c
    inner join weighings as w
        on w.member_no = c.member_no and w.day <= c.day and w.state in ('held', 'sent_back')
    group by c.sheet_no, c.row_no
)
select
    c.*,
    r.owed_minor,
    r.paid_minor,
    coalesce(w.waiting_rows, 0) as waiting_rows,
    coalesce(w.waiting_kg, 0) as waiting_kg,
    coalesce(w.waiting_first, '-') as waiting_first
from check_rows as c
inner join running as r on r.sheet_no = c.sheet_no and r.row_no = c.row_no
left join waiting as w on w.sheet_no = c.sheet_no and w.row_no = c.row_no
where r.what = 'payment' and r.kind = 'payments' and r.paid_minor > r.owed_minor
