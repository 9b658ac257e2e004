-- Grain: one row: opening_minor of one member ($member).
select opening_minor as value from member_season where member_no = $member
