-- Grain: one row: deducted_minor of all members together.
select sum(deducted_minor) as value from member_season
