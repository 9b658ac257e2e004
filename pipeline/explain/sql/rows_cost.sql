-- Grain: one row per cost in one member's ($member) farm record.
select
    'farm_record' as kind, sheet_no, row_no, 'cost' as col, cost_minor as amount,
    activity || coalesce(', ' || item, '') || ' on ' || day as says
from farm_record
where state = 'counted' and member_no = $member and cost_minor is not null
order by day, sheet_no, row_no
