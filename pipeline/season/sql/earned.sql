-- Grain: one row per counted weighing of the members whose money is worked out: its value, and what it would be worth at
-- the best price that the same list has for its form (what grade and moisture cost); minor units.
-- premium_minor: null where the book has no premiums.
create or replace temp table earned as
with best as (
    select
        sheet_no, row_no,
        max(price_per_kg) over (
            partition by from_day, species, form, coalesce(station, '')
        ) as best_per_kg
    from prices
    where state = 'counted'
),
worth as (
    select
        v.sheet_no, v.row_no, v.gbe_kg, v.value_minor,
        value_minor(v.paid_kg, b.best_per_kg, $decimals) as best_minor
    from valued as v
    left join best as b on b.sheet_no = v.price_sheet_no and b.row_no = v.price_row_no
)
select
    w.member_no, w.day, w.sheet_no, w.row_no, w.species, w.form, w.net_kg, v.gbe_kg,
    -- A weighing that was counted though it has no price is worth nothing until it has one.
    coalesce(v.value_minor, 0) as value_minor, v.best_minor, cast(null as bigint) as premium_minor
from money_weighings as w
inner join worth as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
