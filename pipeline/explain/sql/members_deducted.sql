-- Grain: one row per member: deducted_minor, in the order of the register.
select member_no, deducted_minor as amount from member_season where deducted_minor <> 0 order by member_no
