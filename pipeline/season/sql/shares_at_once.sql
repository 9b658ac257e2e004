-- Grain: one row per movement of money into shares of which nothing waits, of members that are not in
-- before `waits`. Shares are contributed up to a target: what a member's coffee asks beyond it is not asked.
insert into transfers
with asked as not materialized (
    select
        e.member_no, e.day, e.sheet_no, e.row_no, d.position,
        coalesce(
            percent_minor(e.value_minor, d.percent), per_kg_minor(e.net_kg, d.per_kg, $decimals)
        ) as amount_minor
    from earned as e
    inner join deductions as d on d.takes = 'shares' and (d.form <> e.form) is not true
    left join waits as w on w.member_no = e.member_no
    where w.position is null or d.position < w.position
),
paid_in as (
    select member_no, cast(sum(
        case when to_account = 'shares' then amount_minor else -amount_minor end
    ) as bigint) as amount_minor
    from transfers
    where what in ('shares', 'adjustment') and 'shares' in (from_account, to_account)
    group by member_no
),
targets as (
    select
        a.member_no, a.position, greatest(d.until_minor - coalesce(p.amount_minor, 0), 0) as target
    from (
        select member_no, position, sum(amount_minor) as amount_minor
        from asked
        group by member_no, position
    ) as a
    inner join deductions as d on d.position = a.position
    left join paid_in as p on p.member_no = a.member_no
    where a.amount_minor > greatest(d.until_minor - coalesce(p.amount_minor, 0), 0)
),
upto as (
    select
        a.day, a.position, a.member_no, a.sheet_no, a.row_no, a.amount_minor, t.target,
        coalesce(sum(a.amount_minor) over (
            partition by a.member_no, a.position order by a.day, a.sheet_no, a.row_no
            rows between unbounded preceding and 1 preceding
        ), 0) as before
    from asked as a
    inner join targets as t on t.member_no = a.member_no and t.position = a.position
),
taken as (
    select day, position, member_no, sheet_no, row_no, amount_minor
    from asked
    where (member_no, position) not in (select (member_no, position) from targets)
    union all
    select
        day, position, member_no, sheet_no, row_no,
        cast(least(before + amount_minor, target) - least(before, target) as bigint)
    from upto
)
select
    t.day, 'deduction', 'member', 'deduction:' || d.deduction, t.member_no, t.amount_minor,
    'weighings', t.sheet_no, t.row_no
from taken as t
inner join deductions as d on d.position = t.position
where t.amount_minor <> 0
