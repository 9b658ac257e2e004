-- Grain: one row per weighing in `earned`, of the members in `waits` (waiting) or of all others: what each
-- deduction takes by its rate where nothing waits. Shares are contributed up to a target ($each: `asked_up_to`):
-- what a member's coffee asks beyond it is not asked.
create or replace temp macro taken_at_once(waiting) as table
with these as (
    select e.*, w.position
    from earned as e
    left join waits as w on w.member_no = e.member_no
    where (w.position is not null) = waiting
),
asked_in as (
    select s.member_no, d.position, sum(s.asked_minor[d.position]) as amount_minor
    from these as s
    inner join deductions as d on d.takes = 'shares'
    group by s.member_no, d.position
),
paid_in as (
    select member_no, cast(sum(
        case when to_account = 'shares' then amount_minor else -amount_minor end
    ) as bigint) as amount_minor
    from movements
    where what in ('shares', 'adjustment') and 'shares' in (from_account, to_account)
    group by member_no
),
targets as (
    -- Numbered, since windows go by a number sooner than by a text.
    select
        a.member_no, row_number() over () as n,
        map_from_entries(list((
            a.position, greatest(d.until_minor - coalesce(p.amount_minor, 0), 0)
        ))) as target
    from asked_in as a
    inner join deductions as d on d.position = a.position
    left join paid_in as p on p.member_no = a.member_no
    group by a.member_no
    having bool_or(a.amount_minor > greatest(d.until_minor - coalesce(p.amount_minor, 0), 0))
)
select
    member_no, position, day, sheet_no, row_no, value_minor, premium_minor, left_minor, asked_minor,
    asked_minor as taken_minor
from these
where member_no not in (select member_no from targets)
union all
select
    s.member_no, s.position, s.day, s.sheet_no, s.row_no, s.value_minor, s.premium_minor, s.left_minor,
    s.asked_minor, cast([$each] as bigint[])
from these as s
inner join targets as t on t.member_no = s.member_no
window before as (
    partition by t.n order by s.day, place_of(s.sheet_no, s.row_no)
    rows between unbounded preceding and 1 preceding
)
