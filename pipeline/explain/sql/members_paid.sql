-- Grain: one row per member: paid_minor, in the order of the register.
select member_no, paid_minor as amount from member_season where paid_minor <> 0 order by member_no
