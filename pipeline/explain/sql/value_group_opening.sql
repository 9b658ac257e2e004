-- Grain: one row: opening_minor of all members together.
select sum(opening_minor) as value from member_season
