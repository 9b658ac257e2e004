-- Grain: one row per deduction from one member's ($member) weighings, all or one of them ($one).
select
    t.kind, t.sheet_no, t.row_no, 'net_kg' as col, t.amount_minor as amount,
    d.name || ': ' || coalesce(
        plain_digits(d.percent) || ' % of the value', plain_digits(d.per_kg) || ' a kg of ' || w.net_kg || ' kg',
        case d.takes when 'credit' then 'repaid of what is owed on issue notes' else 'of what is due' end
    ) || case when d.keep_percent > 0 then ', the member keeps at least ' || plain_digits(d.keep_percent)
        || ' % of what the coffee brings' else '' end
    || case when d.takes = 'shares' then ', until ' || chr(30) || d.until_minor || chr(31) || ' is paid up'
        else '' end || ' (' || d.authority || ')' as says
from transfers as t
inner join deductions as d on t.to_account = 'deduction:' || d.deduction
inner join weighings as w on w.sheet_no = t.sheet_no and w.row_no = t.row_no
where t.what = 'deduction' and t.member_no = $member
    and ($one is null or d.deduction = $one)
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'deducted', s.deducted_minor,
    'the season up to ' || s.day || ', before the book began'
from season_so_far as s
where s.state = 'counted' and s.member_no = $member and s.deducted_minor is not null
    and ($one is null or $one = 'before')
order by sheet_no, row_no
