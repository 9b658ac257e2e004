-- Grain: one row: costs under one heading ($one) that count, of all members, minor units.
select cast(sum(cost_minor) as bigint) as value
from member_cost
where counts and not doubtful and heading = $one
having sum(cost_minor) is not null
