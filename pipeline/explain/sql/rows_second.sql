-- Grain: one row per pool ($one, or all) of which one member ($member) has a second payment.
select
    'second_payments' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    'pool ' || pool || ': ' || kg || ' kg' || coalesce(' times ' || rate_per_kg, ', share of a fixed sum')
        || ', resolution ' || resolution_no || ' of ' || resolution_on
        || coalesce(', posted by ' || p.posted_by || ' with ' || p.second, '') as says
from second_payments as s
left join (
    select s.sheet_no as posted_no, any_value(p.posted_by) as posted_by, any_value(p.second) as second
    from sheets as s
    inner join posted as p on p.sha256 = s.sha256
    group by s.sheet_no
) as p on p.posted_no = s.sheet_no
where s.state = 'counted' and s.member_no = $member and ($one is null or s.pool = $one)
order by sheet_no, row_no
