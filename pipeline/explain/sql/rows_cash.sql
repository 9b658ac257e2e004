-- Grain: one row per payment to, and cost in cash of, one member ($member) in a month ($one: 2026-05).
select
    t.kind, t.sheet_no, t.row_no, case when t.kind = 'season_so_far' then 'paid' else 'amount' end as col,
    case when t.from_account = 'member' then t.amount_minor else -t.amount_minor end as amount,
    [[case when t.from_account = 'member' then 'paid_on' else 'came_back' end, 'd' || t.day]] as says, t.day
from transfers as t
where t.member_no = $member and t.what = 'payment' and strftime(t.day, '%Y-%m') = $one
union all
select
    kind, sheet_no, row_no, 'cost', -cost_minor,
    [[case source when 'visit' then 'spent_visit' else 'spent_record' end, 'd' || day]], day
from member_cost
where member_no = $member and counts and source <> 'credit' and cost_minor is not null
    and strftime(day, '%Y-%m') = $one
order by day, kind, sheet_no, row_no
