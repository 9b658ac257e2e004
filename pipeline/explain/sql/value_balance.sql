-- Grain: one row: balance_minor of one member ($member).
select balance_minor as value from member_season where member_no = $member
