-- Grain: one row: untaken_minor of all members together.
select sum(untaken_minor) as value from member_season
