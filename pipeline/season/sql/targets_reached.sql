-- Grain: one row per member and month, by its last day, in which or before which what is asked for shares ran past what
-- is still to be contributed. beyond, of each deduction by its position: how far what was asked before the month is
-- beyond that, less than nought while it is not; within: that it is passed within the month. $each_shares: what each
-- deduction asks by its rate, of those that have a target.
create or replace temp table targets_reached as
with paid_in as (
    select member_no, cast(sum(
        case when to_account = 'shares' then amount_minor else -amount_minor end
    ) as bigint) as amount_minor
    from movements
    where what in ('shares', 'adjustment') and 'shares' in (from_account, to_account)
    group by member_no
),
-- Who is asked for no more than that over all the season needs no look at months.
reaching as (
    select
        e.member_no, d.position,
        any_value(greatest(d.until_minor - coalesce(p.amount_minor, 0), 0)) as left_minor
    from earned_in as e
    inner join deductions as d on d.takes = 'shares'
    left join paid_in as p on p.member_no = e.member_no
    group by e.member_no, d.position
    having sum(e.most_minor[d.position]) > left_minor
),
asked_in as (
    select
        e.member_no, e.position, last_day(e.day) as month, any_value(e.left_minor) as left_minor,
        cast(sum(e.asked_minor[e.position]) as bigint) as amount_minor,
        cast(sum(least(e.asked_minor[e.position], 0)) as bigint) as less_minor
    from (
        select e.*, cast([$each_shares] as bigint[]) as asked_minor
        from (
            select e.member_no, e.day, e.form, e.net_kg, e.value_minor, r.position, r.left_minor
            from earned as e
            inner join reaching as r on r.member_no = e.member_no
        ) as e
    ) as e
    group by e.member_no, e.position, month
),
running as (
    select
        member_no, position, month, amount_minor, less_minor,
        cast(sum(amount_minor) over (partition by member_no, position order by month) as bigint)
            - amount_minor - left_minor as beyond
    from asked_in
)
select
    member_no, month, map_from_entries(list((position, beyond))) as beyond,
    bool_or(beyond + less_minor < 0) as within
from running
where beyond + amount_minor - less_minor > 0
group by member_no, month
