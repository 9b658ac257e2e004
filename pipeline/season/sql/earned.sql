-- Grain: one row per counted weighing of the members whose money is worked out: its value, and what it would be worth at
-- the best price that the same list has for its form (what grade and moisture cost); minor units.
-- premium_minor: null where the book has no premiums. Of a whole season as many rows stand here as were weighed, and are
-- gone through several times: as texts, species and form would be a third of what they hold.
create or replace temp table earned (
    member_no varchar, day date, sheet_no integer, row_no integer, species coffee_species, form coffee_form,
    net_kg decimal(14, 3), gbe_kg decimal(14, 3), value_minor bigint, best_minor bigint, premium_minor bigint
)
