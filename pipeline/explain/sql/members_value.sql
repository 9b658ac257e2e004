-- Grain: one row per member: value_minor, in the order of the register.
select member_no, value_minor as amount from member_season where value_minor <> 0 order by member_no
