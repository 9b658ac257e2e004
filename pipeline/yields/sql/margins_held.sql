-- Grain: one row per reason why members' margins are not shown, and one with null for those that are:
-- members, and the middle number of weeks that they recorded or recalled.
select
    held, count(*) as members,
    cast(median(weeks_recorded) as decimal(14, 1)) as weeks_recorded,
    cast(median(weeks_recalled) as decimal(14, 1)) as weeks_recalled,
    cast(coalesce(sum(recalled_minor), 0) as bigint) as recalled_minor,
    cast(coalesce(sum(variable_minor + tools_minor), 0) as bigint) as cost_minor
from member_margin
group by held
order by members desc, held
