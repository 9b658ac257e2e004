-- Grain: one row per counted row of a farm record or visit that names a cost or days of work (since: from when a visit
-- recalls), and per line of an issue note of inputs, seedlings or tools given for this season, with its charge.
create view cost_rows as
select
    member_no, 'record' as source, 'farm_record' as kind, sheet_no, row_no, day, day as since,
    cast(activity as varchar) as activity, item, cost_minor,
    cast(family_days as decimal(14, 1)) as family_days, cast(hired_days as decimal(14, 1)) as hired_days
from farm_record
where state = 'counted' and member_no is not null and day is not null
    and (cost_minor is not null or family_days is not null or hired_days is not null)
union all
select
    v.member_no, 'visit', 'visits', v.sheet_no, v.row_no, v.day, coalesce(v.recalled_from, d.first_day),
    cast(coalesce(v.work, 'other') as varchar), null, v.cost_minor, v.family_days, v.hired_days
from visits as v
cross join season_days as d
where v.state = 'counted' and v.member_no is not null and v.day is not null
    and (v.cost_minor is not null or v.family_days is not null or v.hired_days is not null)
union all
select
    c.member_no, 'credit', 'credit', c.sheet_no, c.row_no, c.day, c.day,
    case c.credit_kind when 'tools' then 'tools' when 'seedlings' then 'planting' else 'inputs' end,
    c.item, c.amount_minor + coalesce(c.charge_minor, 0), null, null
from credit as c
cross join season_days as d
where c.state = 'counted' and c.member_no is not null and c.day is not null
    and c.credit_kind in ('inputs', 'tools', 'seedlings') and coalesce(c.for_season, d.season) = d.season
union all
select
    member_no, 'credit', 'opening_balances', sheet_no, row_no, day, day, 'inputs', null, amount_minor, null, null
from opening_balances
where state = 'counted' and balance_of = 'inputs_given' and member_no is not null and day is not null
