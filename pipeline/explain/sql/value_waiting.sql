-- Grain: one row: waiting_kg of one member ($member).
select waiting_kg as value from member_season where member_no = $member
