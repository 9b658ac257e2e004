-- Grain: one row per weighing of a member this season that no later version replaces; kg.
select day, net_kg, form, state, sheet_no, row_no
from memory.quick.past
where member_no = $member
order by day, sheet_no, row_no
limit 400
