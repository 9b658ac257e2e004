-- Grain: one row: premium_minor of all members together.
select sum(premium_minor) as value from member_season
