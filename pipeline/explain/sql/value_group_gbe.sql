-- Grain: one row: gbe_kg of all members together.
select sum(gbe_kg) as value from member_season
