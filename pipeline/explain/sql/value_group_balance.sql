-- Grain: one row: balance_minor of all members together.
select sum(balance_minor) as value from member_season
