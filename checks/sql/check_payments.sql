-- Grain: one row per live payment, beside its member and another payment with the same reference, or where
-- neither has one, of the same member, day, way and amount.
create or replace temp view check_payments as
with left_by as (
    select member_no, max(left_on) as left_on
    from members
    where state in ('counted', 'held')
    group by member_no
    having max(left_on) is not null
),
referred as (
    select reference, method, min((day, payment_no))[2] as earliest
    from live_payments
    where reference in (
        select reference from live_payments
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
    from live_payments
    where reference is null
    group by about_no
    having count(*) > 1
),
alike as (
    select member_no, day, method, amount_minor, min(payment_no) as earliest
    from live_payments
    where reference is null
        and hash(member_no, day, method, amount_minor) in (select about_no from numbered)
    group by member_no, day, method, amount_minor
    having min(payment_no) <> max(payment_no)
)
select
    r.*,
    m.name as member_name,
    st.name as station_name,
    g.left_on,
    t.earliest as same_reference,
    a.earliest as same_payment,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    abs(r.amount_minor) as minor_at_stake
from live_payments as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join stations as st on st.station = r.station
left join known_members as m on m.member_no = r.member_no
left join left_by as g on g.member_no = r.member_no
left join referred as t
    on t.reference = r.reference and t.method = r.method and t.earliest <> r.payment_no
left join alike as a
    on r.reference is null and a.member_no = r.member_no and a.day = r.day and a.method = r.method
    and a.amount_minor = r.amount_minor and a.earliest <> r.payment_no;
