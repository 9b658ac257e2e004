-- Grain: one row per weighing in `earned` that waits by now: what one deduction ($position) takes of it.
-- What a weighing should bear (wanted) and what may be taken of it (room) make a queue for each member:
-- with s the running sum of wanted less room, what still waits after a row is s less the least s up to
-- there (or nought), and taken is what was wanted and waited before it, less what waits after it.
create or replace temp table step as
with rule as (
    select until_minor, keep_percent from deductions where position = $position
),
shares_before as (
    select member_no, cast(sum(
        case when to_account = 'shares' then amount_minor else -amount_minor end
    ) as bigint) as paid_in_minor
    from movements
    where $shares and what in ('shares', 'adjustment')
        and 'shares' in (from_account, to_account)
        and member_no in (select member_no from waits)
    group by member_no
),
owed as (
    select * exclude (position) from debts where position = $position
),
fit as (
    select
        e.member_no, e.day, e.sheet_no, e.row_no,
        e.asked_minor[$position] as by_rate,
        greatest(least(
            e.left_minor,
            e.left_minor - kept_minor(greatest(e.value_minor + e.premium_minor, 0), r.keep_percent)
        ), 0) as room
    from earned as e
    cross join rule as r
    where e.position <= $position
),
-- Shares are contributed up to a target: what a member's coffee asks beyond it is not asked.
targets as (
    select
        f.member_no,
        -- What an earlier season still asks goes towards the same target.
        greatest(
            any_value(r.until_minor) - coalesce(any_value(s.paid_in_minor), 0) - coalesce(any_value(o.owed_minor), 0), 0
        ) as target
    from fit as f
    cross join rule as r
    left join shares_before as s on s.member_no = f.member_no
    left join (
        select member_no, cast(sum(owed_minor) as bigint) as owed_minor from owed group by member_no
    ) as o on o.member_no = f.member_no
    where $shares
    group by f.member_no
    having sum(f.by_rate) > target
),
upto as (
    select
        f.*,
        t.target,
        coalesce(sum(f.by_rate) over (
            partition by f.member_no order by f.day, f.sheet_no, f.row_no
            rows between unbounded preceding and 1 preceding
        ), 0) as before
    from fit as f
    inner join targets as t on t.member_no = f.member_no
),
capped as (
    select
        * exclude (before, target, by_rate),
        least(before + by_rate, target) - least(before, target) as wanted
    from upto
    union all
    select * exclude (by_rate), by_rate as wanted
    from fit
    where member_no not in (select member_no from targets)
),
queued as (
    select member_no from capped where wanted > room
    union
    select member_no from owed
),
stream as (
    select member_no, day, 1 as place, 'weighings' as kind, sheet_no, row_no, wanted, room
    from capped
    where member_no in (select member_no from queued)
    union all
    select member_no, day, 0, kind, sheet_no, row_no, owed_minor, paid_minor
    from owed
),
summed as (
    select
        *,
        cast(sum(wanted - room) over (
            partition by member_no order by day, place, kind, sheet_no, row_no, room
            rows unbounded preceding
        ) as bigint) as s
    from stream
),
waits as (
    select
        *,
        s - least(0, min(s) over (
            partition by member_no order by day, place, kind, sheet_no, row_no, room
            rows unbounded preceding
        )) as waiting
    from summed
),
taken as (
    select
        member_no, day, kind, sheet_no, row_no, place, room,
        cast(wanted - waiting + coalesce(lag(waiting) over (
            partition by member_no order by day, place, kind, sheet_no, row_no, room
        ), 0) as bigint) as taken
    from waits
)
select
    c.member_no, c.day, 'weighings' as kind, c.sheet_no, c.row_no,
    cast(coalesce(t.taken, c.wanted) as bigint) as taken_minor,
    cast(c.wanted as bigint) as wanted_minor, cast(null as bigint) as paid_minor
from capped as c
left join taken as t on t.place = 1 and t.sheet_no = c.sheet_no and t.row_no = c.row_no
union all
-- A loan given back otherwise than by coffee: what went into it, of what was paid.
select member_no, day, kind, sheet_no, row_no, taken, 0, room
from taken
where place = 0 and room > 0
