-- Grain: one row per pool ($one, or all) of which one member ($member) has a second payment.
select
    'second_payments' as kind, sheet_no, row_no, 'amount' as col, amount_minor as amount,
    [
        ['pool', 't' || pool, 'n' || kg],
        case when rate_per_kg is null then ['fixed_sum'] else ['rate', 'n' || rate_per_kg] end,
        ['resolution', 't' || resolution_no, 'd' || resolution_on],
        ['posted_by', 't' || p.posted_by, 't' || p.second]
    ] as says
from second_payments as s
left join (
    select s.sheet_no as posted_no, any_value(p.posted_by) as posted_by, any_value(p.second) as second
    from sheets as s
    inner join posted as p on p.sha256 = s.sha256
    group by s.sheet_no
) as p on p.posted_no = s.sheet_no
where s.state = 'counted' and s.member_no = $member and ($one is null or s.pool = $one)
order by sheet_no, row_no
