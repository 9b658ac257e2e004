-- Grain: one row per member: second_minor, in the order of the register.
select member_no, second_minor as amount from member_season where second_minor <> 0 order by member_no
