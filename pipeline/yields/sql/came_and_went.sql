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
    -- What is repaid of inputs on credit stands among the costs already.
    select 'deducted', 'out', sum(minor), count(*), 4
    from (
        select m.member_no, m.deducted_minor - coalesce(r.minor, 0) as minor
        from member_season as m
        left join (
            select t.member_no, sum(t.amount_minor) as minor
            from transfers as t
            inner join deductions as d on t.to_account = 'deduction:' || d.deduction and d.takes = 'credit'
            where t.what = 'deduction'
            group by t.member_no
        ) as r on r.member_no = m.member_no
    )
    where minor <> 0
    having count(*) > 0
    union all
    select heading, 'out', sum(cost_minor), count(distinct member_no), 5
    from member_cost
    where counts and not doubtful and cost_minor is not null
    group by heading
)
order by n, amount_minor desc, what
