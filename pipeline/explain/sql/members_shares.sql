-- Grain: one row per member: shares_minor, in the order of the register.
select member_no, shares_minor as amount from member_season where shares_minor <> 0 order by member_no
