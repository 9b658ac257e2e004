-- Grain: one row per member: balance_minor, in the order of the register.
select member_no, balance_minor as amount from member_season where balance_minor <> 0 order by member_no
