-- Grain: one row per live payment of an amount that the same member was paid under another number some days
-- before: the last of those. Where more than one in a thousand payments of others are of that amount, it is usual:
-- an advance, or the coffee of a full sack.
with again as (
    -- Numbers are grouped sooner than texts: that two members of a book share one of 2^64 is not to be expected.
    select any_value(amount_minor) as amount_minor, hash(member_no, amount_minor) as about_no
    from live_payments
    group by about_no
    having count(*) > 1
),
of_amount as (
    select sheet_no, row_no, payment_no, member_no, day, amount_minor
    from live_payments
    where amount_minor in (select amount_minor from again)
),
alike as (
    select
        sheet_no, row_no, payment_no, day, amount_minor,
        lag(payment_no) over w as earlier_payment, lag(day) over w as earlier_day,
        count(*) over (partition by member_no, amount_minor) as own
    from of_amount
    where day is not null and member_no is not null and amount_minor > 0
        and hash(member_no, amount_minor) in (select about_no from again)
    window w as (partition by member_no, amount_minor order by day, payment_no, sheet_no, row_no)
),
soon as (
    select a.*, l.paid_again_usual, a.day - a.earlier_day as days_before
    from alike as a
    inner join limits_here as l on l.station = '' and l.species = '' and l.form = ''
    where a.day > a.earlier_day and a.day - a.earlier_day <= l.paid_again_days
        and a.payment_no <> a.earlier_payment
),
counted as (
    select amount_minor, count(*) as paid_times
    from of_amount
    group by amount_minor
),
all_of_it as (
    select count(*) as paid_times from live_payments
)
select s.sheet_no, s.row_no, s.earlier_payment, s.earlier_day, s.days_before
from soon as s
inner join counted as c on c.amount_minor = s.amount_minor
cross join all_of_it as a
where (c.paid_times - s.own) * 100 <= s.paid_again_usual * a.paid_times
