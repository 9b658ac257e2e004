-- Grain: one row per member: loan_minor, in the order of the register.
select member_no, loan_minor as amount from member_season where loan_minor <> 0 order by member_no
