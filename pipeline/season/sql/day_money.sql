-- Grain: one row per member with coffee or cash at a station ($station) on a day ($day): what the day's
-- coffee came to after deductions, and the cash paid out there; minor units.
with coffee as (
    select t.member_no, sum(case when t.what = 'deduction' then -t.amount_minor else t.amount_minor end)
        as due_minor
    from transfers as t
    inner join weighings as w
        on t.kind = 'weighings' and w.sheet_no = t.sheet_no and w.row_no = t.row_no
    where w.station = $station and t.day = $day
    group by t.member_no
),
cash as (
    select p.member_no, sum(p.amount_minor) as paid_minor
    from payments as p
    left join known_members as m on m.member_no = p.member_no
    where p.state = 'counted' and p.method = 'cash' and p.day = $day
        and coalesce(p.station, m.station) = $station
    group by p.member_no
)
select
    coalesce(c.member_no, p.member_no) as member_no,
    m.name,
    cast(coalesce(c.due_minor, 0) as bigint) as due_minor,
    cast(coalesce(p.paid_minor, 0) as bigint) as paid_minor
from coffee as c
full join cash as p on p.member_no = c.member_no
left join known_members as m on m.member_no = coalesce(c.member_no, p.member_no)
order by member_no
