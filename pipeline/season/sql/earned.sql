-- Grain: one row per counted weighing of the members whose money is worked out: its value, and what
-- of it is left to take deductions from; minor units.
create or replace temp table earned as
select
    w.member_no, w.day, w.sheet_no, w.row_no, w.species, w.form, w.net_kg, v.gbe_kg,
    -- A weighing that was counted though it has no price is worth nothing until it has one.
    coalesce(v.value_minor, 0) as value_minor,
    cast(0 as bigint) as premium_minor, coalesce(v.value_minor, 0) as left_minor
from money_weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
