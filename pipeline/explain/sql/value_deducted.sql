-- Grain: one row: deducted_minor of one member ($member).
select deducted_minor as value from member_season where member_no = $member
