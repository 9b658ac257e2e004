-- Grain: one row per deduction from one member's ($member) weighings, all or one of them ($one).
select
    t.kind, t.sheet_no, t.row_no, 'net_kg' as col, t.amount_minor as amount,
    [
        case
            when d.percent is not null then ['of_value', 'b' || d.name, 'n' || plain_digits(d.percent)]
            when d.per_kg is not null then ['of_kg', 'b' || d.name, 'n' || plain_digits(d.per_kg), 'n' || w.net_kg]
            when d.takes = 'credit' then ['of_notes', 'b' || d.name]
            else ['of_due', 'b' || d.name]
        end,
        case when d.keep_percent > 0 then ['keeps', 'n' || plain_digits(d.keep_percent)] end,
        case when d.takes = 'shares' then ['until', 'm' || d.until_minor] end,
        ['allowed_by', 't' || d.authority]
    ] as says
from transfers as t
inner join deductions as d on t.to_account = 'deduction:' || d.deduction
inner join weighings_valued as w on w.member_no = $member and w.sheet_no = t.sheet_no and w.row_no = t.row_no
where t.what = 'deduction' and t.member_no = $member
    and ($one is null or d.deduction = $one)
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'deducted', s.deducted_minor,
    [['so_far', 'd' || s.day]]
from season_so_far as s
where s.state = 'counted' and s.member_no = $member and s.deducted_minor is not null
    and ($one is null or $one = 'before')
order by sheet_no, row_no
