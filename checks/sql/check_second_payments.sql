-- Grain: one row per live row of a second payment, beside its member and who posted its sheet.
create or replace temp view check_second_payments as
select
    r.*,
    m.name as member_name,
    p.sha256 is not null as is_posted,
    s.taken_day,
    d.first_day,
    d.last_day,
    cast(null as decimal(14, 3)) as kg_at_stake,
    abs(r.amount_minor) as minor_at_stake
from live_second_payments as r
cross join season_days as d
inner join sheets as s on s.sheet_no = r.sheet_no
left join known_members as m on m.member_no = r.member_no
left join (select distinct sha256 from posted where what = 'second_payments') as p on p.sha256 = s.sha256;
