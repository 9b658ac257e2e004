-- Grain: one row per source of income (coffee by species, form and grade; premiums; second payments; other)
-- and per heading of recorded costs and deductions; minor units, and members it is of.
select what, side, cast(amount_minor as bigint) as amount_minor, members
from (
    select
        concat_ws('/', w.species, w.form, w.grade) as what, 'in' as side,
        sum(v.value_minor) as amount_minor, count(distinct w.member_no) as members, 1 as n
    from weighings as w
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    where w.state = 'counted' and v.value_minor is not null
    group by w.species, w.form, w.grade
    union all
    select 'premium', 'in', sum(premium_minor), count(*), 2 from member_season where premium_minor <> 0
    having count(*) > 0
    union all
    select 'second', 'in', sum(second_minor), count(*), 3 from member_season where second_minor <> 0
    having count(*) > 0
    union all
    select 'deducted', 'out', sum(deducted_minor), count(*), 4 from member_season where deducted_minor <> 0
    having count(*) > 0
    union all
    select heading, 'out', sum(cost_minor), count(distinct member_no), 5
    from member_cost
    where counts and not doubtful and cost_minor is not null
    group by heading
)
order by n, amount_minor desc, what
