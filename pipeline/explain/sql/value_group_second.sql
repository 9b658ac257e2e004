-- Grain: one row: second_minor of all members together.
select sum(second_minor) as value from member_season
