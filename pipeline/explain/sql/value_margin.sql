-- Grain: one row: margin_minor of one member ($member).
select margin_minor as value from member_season where member_no = $member
