-- Grain: one row: other_minor of all members together.
select sum(other_minor) as value from member_season
