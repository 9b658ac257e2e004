-- Grain: one row per member and species with priced coffee: its value, and what the same paid kilograms would
-- be worth at the best price that the same list has for their form: what grade and moisture cost. Minor
-- units, each weighing rounded once.
insert into member_best
with best as (
    select
        sheet_no, row_no,
        max(price_per_kg) over (
            partition by from_day, species, form, coalesce(station, '')
        ) as best_per_kg
    from prices
    where state = 'counted'
)
select
    w.member_no, w.species,
    cast(sum(v.value_minor) as bigint) as value_minor,
    cast(sum(value_minor(v.paid_kg, b.best_per_kg, $decimals)) as bigint) as best_minor
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
inner join best as b on b.sheet_no = v.price_sheet_no and b.row_no = v.price_row_no
where w.state = 'counted' and w.member_no is not null and v.value_minor is not null
group by w.member_no, w.species
order by w.member_no, w.species
