-- Grain: one row per picking on a plot that was sprayed so shortly before that the days to wait, as they
-- were copied from the label, are not over; with the latest such spraying.
with sprayed as (
    select member_no, plot_no, day, product, waiting_days
    from live_rows
    where activity = 'spraying' and waiting_days > 0 and plot_no is not null
),
soon as (
    select
        p.sheet_no, p.row_no,
        max_by(s, (s.day + cast(least(s.waiting_days, 3650) as integer), s.day)) as s
    from live_rows as p
    inner join sprayed as s
        on s.member_no = p.member_no and s.plot_no = p.plot_no and s.day <= p.day
        and p.day < s.day + cast(least(s.waiting_days, 3650) as integer)
    where p.activity = 'picking'
    group by p.sheet_no, p.row_no
)
select
    s.sheet_no,
    s.row_no,
    s.s.day as sprayed_day,
    s.s.product as sprayed_with,
    s.s.waiting_days as days_to_wait
from soon as s
