-- Grain: one row: gbe_kg of one member ($member).
select gbe_kg as value from member_season where member_no = $member
