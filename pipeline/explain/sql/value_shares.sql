-- Grain: one row: shares_minor of one member ($member).
select shares_minor as value from member_season where member_no = $member
