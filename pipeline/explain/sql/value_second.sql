-- Grain: one row: second_minor of one member ($member).
select second_minor as value from member_season where member_no = $member
