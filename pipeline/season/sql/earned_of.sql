-- Grain: one row per weighing in `earned` of some sheets, from $first to $last by their numbers.
insert into earned
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
    where v.sheet_no between $first and $last
)
select
    w.member_no, w.day, w.sheet_no, w.row_no, w.species, w.form, w.net_kg, v.gbe_kg,
    -- A weighing that was counted though it has no price is worth nothing until it has one.
    coalesce(v.value_minor, 0) as value_minor, v.best_minor, cast(null as bigint) as premium_minor
from money_weighings as w
inner join worth as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.sheet_no between $first and $last
