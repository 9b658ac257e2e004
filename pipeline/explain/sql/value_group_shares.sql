-- Grain: one row: shares_minor of all members together.
select sum(shares_minor) as value from member_season
