-- Grain: one row per payment after which a member has had more than was owed up to that day.
with movement as (
    select
        member_no,
        day,
        case when to_account = 'member' then amount_minor else 0 end as owed_minor,
        case when what = 'deduction' then amount_minor else 0 end as taken_minor,
        case when what = 'payment' then amount_minor else 0 end as paid_minor,
        what,
        sheet_no,
        row_no
    from transfers
),
running as (
    select
        what,
        sheet_no,
        row_no,
        cast(sum(owed_minor - taken_minor) over upto as bigint) as owed_minor,
        cast(sum(paid_minor) over upto as bigint) as paid_minor
    from movement
    window upto as (
        -- Coffee of a day counts before that day's payments.
        partition by member_no order by day, what = 'payment', sheet_no, row_no
        rows unbounded preceding
    )
)
select
    c.*,
    r.owed_minor,
    r.paid_minor
from check_rows as c
inner join running as r on r.sheet_no = c.sheet_no and r.row_no = c.row_no
where r.what = 'payment' and r.paid_minor > r.owed_minor
