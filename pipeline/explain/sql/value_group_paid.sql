-- Grain: one row: paid_minor of all members together.
select sum(paid_minor) as value from member_season
