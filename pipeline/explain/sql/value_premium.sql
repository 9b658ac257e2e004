-- Grain: one row: premium_minor of one member ($member).
select premium_minor as value from member_season where member_no = $member
