-- Grain: one row: record_cost_minor of one member ($member).
select record_cost_minor as value from member_season where member_no = $member
