-- Grain: one row per weighing in `earned`, of the members in `waits` (waiting) or of all others: what each
-- deduction takes by its rate where nothing waits. Shares are contributed up to a target: what a member's coffee asks
-- beyond it is not asked. Only in the month in which that is reached is there anything to add up weighing by weighing
-- ($each_within: `asked_within`): up to there all is taken that is asked, and past it nothing ($each_past: `asked_past`).
create or replace temp macro up_to_target(beyond, asked_minor) as
    case
        when beyond is null then asked_minor
        else cast(least(beyond + asked_minor, 0) - least(beyond, 0) as bigint)
    end;

create or replace temp macro taken_at_once(waiting) as table
select
    e.member_no, w.position, e.day, e.sheet_no, e.row_no, e.value_minor, e.premium_minor, e.left_minor,
    e.asked_minor, case when r.month is null then e.asked_minor else [$each_past] end as taken_minor
from earned as e
left join waits as w on w.member_no = e.member_no
left join targets_reached as r on r.member_no = e.member_no and r.month = last_day(e.day)
where (w.position is not null) = waiting and r.within is not true
union all
select
    e.member_no, r.position, e.day, e.sheet_no, e.row_no, e.value_minor, e.premium_minor, e.left_minor,
    e.asked_minor, [$each_within]
from earned as e
inner join (
    select t.*, w.position
    from targets_reached as t
    left join waits as w on w.member_no = t.member_no
    where t.within and (w.position is not null) = waiting
) as r on r.member_no = e.member_no and r.month = last_day(e.day)
window before as (
    partition by r.member_no, r.month order by e.day, e.sheet_no, e.row_no
    rows between unbounded preceding and 1 preceding
)
