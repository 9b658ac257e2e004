-- Grain: one row per live payment beside another one: the first with the same reference and way, or where
-- neither has a reference, the first of the same member, day, way and amount.
with referred as (
    select reference, method, min((day, payment_no))[2] as earliest
    from live_rows
    where reference in (
        select reference from live_rows
        where reference is not null
        group by reference
        having count(*) > 1
    )
    group by reference, method
    having min(payment_no) <> max(payment_no)
),
-- Numbers are grouped sooner than texts: of most payments without a reference none other has the number.
numbered as (
    select hash(member_no, day, method, amount_minor) as about_no
    from live_rows
    where reference is null
    group by about_no
    having count(*) > 1
),
doubtful as (
    select sheet_no, row_no, member_no, day, method, amount_minor, payment_no
    from live_rows
    where reference is null
        and hash(member_no, day, method, amount_minor) in (select about_no from numbered)
),
alike as (
    select member_no, day, method, amount_minor, min(payment_no) as earliest
    from doubtful
    group by member_no, day, method, amount_minor
    having min(payment_no) <> max(payment_no)
)
select r.sheet_no, r.row_no, t.earliest as same_reference, cast(null as varchar) as same_payment
from live_rows as r
inner join referred as t
    on t.reference = r.reference and t.method = r.method and t.earliest <> r.payment_no
union all
select r.sheet_no, r.row_no, cast(null as varchar), a.earliest
from doubtful as r
inner join alike as a
    on a.member_no = r.member_no and a.day = r.day and a.method = r.method
    and a.amount_minor = r.amount_minor and a.earliest <> r.payment_no
