-- Grain: one row per member: premium_minor, in the order of the register.
select member_no, premium_minor as amount from member_season where premium_minor <> 0 order by member_no
