-- Grain: one row: paid_minor of one member ($member).
select paid_minor as value from member_season where member_no = $member
