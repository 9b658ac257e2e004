-- Grain: one row per member and month, by its last day, in which or before which what is asked for shares ran past what
-- is still to be contributed. beyond, of each deduction by its position: how far what was asked before the month is
-- beyond that, less than nought while it is not; within: that it is passed within the month.
create or replace temp table targets_reached as
with asked_in as (
    select
        e.member_no, d.position, last_day(e.day) as month,
        cast(sum(e.asked_minor[d.position]) as bigint) as amount_minor,
        cast(sum(least(e.asked_minor[d.position], 0)) as bigint) as less_minor
    from earned as e
    inner join deductions as d on d.takes = 'shares'
    group by e.member_no, d.position, month
),
paid_in as (
    select member_no, cast(sum(
        case when to_account = 'shares' then amount_minor else -amount_minor end
    ) as bigint) as amount_minor
    from movements
    where what in ('shares', 'adjustment') and 'shares' in (from_account, to_account)
    group by member_no
),
running as (
    select
        a.member_no, a.position, a.month, a.amount_minor, a.less_minor,
        cast(sum(a.amount_minor) over (partition by a.member_no, a.position order by a.month) as bigint)
            - a.amount_minor - greatest(d.until_minor - coalesce(p.amount_minor, 0), 0) as beyond
    from asked_in as a
    inner join deductions as d on d.position = a.position
    left join paid_in as p on p.member_no = a.member_no
)
select
    member_no, month, map_from_entries(list((position, beyond))) as beyond,
    bool_or(beyond + less_minor < 0) as within
from running
where beyond + amount_minor - less_minor > 0
group by member_no, month
