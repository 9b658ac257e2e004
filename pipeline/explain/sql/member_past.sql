-- Grain: one row per weighing of a member this season that no later version replaces; kg.
select day, net_kg, form, cast(state as varchar) as state, sheet_no, row_no
from weighings_valued
where member_no = $member and state <> 'replaced'
order by day, sheet_no, row_no
limit 400
