-- Grain: one row per member: untaken_minor, in the order of the register.
select member_no, untaken_minor as amount from member_season where untaken_minor <> 0 order by member_no
