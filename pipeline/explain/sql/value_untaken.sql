-- Grain: one row: untaken_minor of one member ($member).
select untaken_minor as value from member_season where member_no = $member
