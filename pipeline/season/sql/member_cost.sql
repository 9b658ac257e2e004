-- Grain: one row per counted row of a farm record or visit that names a cost or days of work, and per line of
-- an issue note of inputs, seedlings or tools given for this season, with its charge. What a visit recalls
-- does not count where the member's own record holds the same work in the time recalled; nor a note where
-- that record holds a cost for the same item within input_record_days of it (one entry answers one line).
-- Doubtful: over cost_held_times the middle cost of that work among enough members, and nobody decided to
-- count it.
insert into member_cost
with told as (
    select
        member_no, 'record' as source, 'farm_record' as kind, sheet_no, row_no, day, day as since,
        cast(activity as varchar) as activity, item, cost_minor, family_days, hired_days
    from farm_record
    where state = 'counted' and member_no is not null and day is not null
        and coalesce(cost_minor, family_days, hired_days) is not null
    union all
    select
        v.member_no, 'visit', 'visits', v.sheet_no, v.row_no, v.day, coalesce(v.recalled_from, d.first_day),
        cast(coalesce(v.work, 'other') as varchar), null, v.cost_minor, v.family_days, v.hired_days
    from visits as v
    cross join season_days as d
    where v.state = 'counted' and v.member_no is not null and v.day is not null
        and coalesce(v.cost_minor, v.family_days, v.hired_days) is not null
),
given as (
    select
        c.member_no, 'credit' as source, 'credit' as kind, c.sheet_no, c.row_no, c.day,
        case c.credit_kind when 'tools' then 'tools' when 'seedlings' then 'planting' else 'inputs' end as activity,
        c.item, c.amount_minor + coalesce(c.charge_minor, 0) as cost_minor
    from credit as c
    cross join season_days as d
    where c.state = 'counted' and c.member_no is not null and c.day is not null
        and c.credit_kind in ('inputs', 'tools', 'seedlings') and coalesce(c.for_season, d.season) = d.season
    union all
    select member_no, 'credit', 'opening_balances', sheet_no, row_no, day, 'inputs', null, amount_minor
    from opening_balances
    where state = 'counted' and balance_of = 'inputs_given' and member_no is not null and day is not null
),
-- The nearest entry of the record answers a line of a note, and each but one.
answered as (
    select sheet_no, row_no
    from (
        select
            g.kind, g.sheet_no, g.row_no, r.sheet_no as by_sheet_no, r.row_no as by_row_no,
            abs(r.day - g.day) as apart
        from given as g
        cross join (select input_record_days from limits_here where station = '' and species = '' and form = '') as l
        inner join told as r
            on r.source = 'record' and r.member_no = g.member_no and r.cost_minor > 0
            and lower(trim(r.item)) = lower(trim(g.item)) and abs(r.day - g.day) <= l.input_record_days
    )
    qualify row_number() over (partition by by_sheet_no, by_row_no order by apart, kind, sheet_no, row_no) = 1
        and row_number() over (partition by kind, sheet_no, row_no order by apart, by_sheet_no, by_row_no) = 1
),
usual as (
    select source, activity, cast(median(cost_minor) as bigint) as middle_minor, count(distinct member_no) as members
    from told
    where cost_minor > 0
    group by source, activity
),
overlapping as (
    select distinct v.sheet_no, v.row_no
    from told as v
    inner join told as r
        on r.source = 'record' and r.member_no = v.member_no and r.activity = v.activity
        and r.day between v.since and v.day
    where v.source = 'visit'
),
decided as (
    select distinct kind, sheet_no, row_no
    from decisions
    where action = 'count' and rule = 'cost-far-from-peers'
)
select
    t.member_no, t.source, t.kind, t.sheet_no, t.row_no, t.day, t.activity,
    case
        when t.activity in ('transport', 'tools') then t.activity
        when t.activity in ('processing', 'drying') then 'processing'
        when t.item is not null and coalesce(t.hired_days, 0) = 0 then 'inputs'
        when t.item is null and t.hired_days > 0 then 'hired labour'
        when t.item is not null then 'inputs and labour'
        else 'other'
    end as heading,
    t.cost_minor, t.family_days, t.hired_days,
    o.row_no is null as counts,
    coalesce(
        t.cost_minor > l.cost_held_times * u.middle_minor and u.members >= l.peers_least, false
    ) and c.row_no is null as doubtful
from told as t
left join overlapping as o on o.sheet_no = t.sheet_no and o.row_no = t.row_no and t.source = 'visit'
left join usual as u on u.source = t.source and u.activity = t.activity
left join decided as c on c.kind = t.kind and c.sheet_no = t.sheet_no and c.row_no = t.row_no
cross join (select * from limits_here where station = '' and species = '' and form = '') as l
union all
select
    g.member_no, g.source, g.kind, g.sheet_no, g.row_no, g.day, g.activity,
    case g.activity when 'tools' then 'tools' else 'inputs' end,
    g.cost_minor, null, null, a.row_no is null, false
from given as g
left join answered as a on g.kind = 'credit' and a.sheet_no = g.sheet_no and a.row_no = g.row_no
-- A sheet is of one kind.
order by 4, 5
