-- Grain: one row: loan_minor of one member ($member).
select loan_minor as value from member_season where member_no = $member
