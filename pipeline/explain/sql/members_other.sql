-- Grain: one row per member: other_minor, in the order of the register.
select member_no, other_minor as amount from member_season where other_minor <> 0 order by member_no
