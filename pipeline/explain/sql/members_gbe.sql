-- Grain: one row per member: gbe_kg, in the order of the register.
select member_no, gbe_kg as amount from member_season where gbe_kg <> 0 order by member_no
