-- Grain: one row: value_minor of all members together.
select sum(value_minor) as value from member_season
