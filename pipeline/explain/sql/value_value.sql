-- Grain: one row: value_minor of one member ($member).
select value_minor as value from member_season where member_no = $member
