-- Grain: one row per member: opening_minor, in the order of the register.
select member_no, opening_minor as amount from member_season where opening_minor <> 0 order by member_no
