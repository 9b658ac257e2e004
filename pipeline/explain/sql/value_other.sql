-- Grain: one row: other_minor of one member ($member).
select other_minor as value from member_season where member_no = $member
