-- Grain: one row: loan_minor of all members together.
select sum(loan_minor) as value from member_season
