-- Grain: one row per live entry on a member's account, beside both members and the payment it names.
create or replace temp view check_money_entries as
with paid as (
    select payment_no, member_no, sum(amount_minor) as payment_minor
    from payments
    where state = 'counted'
    group by payment_no, member_no
),
back as (
    select corrects, member_no, sum(amount_minor) as back_minor
    from live_money_entries
    where entry = 'returned'
    group by corrects, member_no
)
select
    r.*,
    m.name as member_name,
    o.name as other_name,
    p.payment_minor,
    b.back_minor,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    abs(r.amount_minor) as minor_at_stake
from live_money_entries as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join known_members as o on o.member_no = r.other_member
left join paid as p on p.payment_no = r.corrects and p.member_no = r.member_no
left join back as b on b.corrects = r.corrects and b.member_no = r.member_no;
