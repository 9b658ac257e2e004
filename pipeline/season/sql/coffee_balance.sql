-- Grain: one row per station, week, species and form in which coffee lay or moved, kilograms: what lay
-- there at the start of the week, what came and went, and what lies there at its end. $station, ''
-- for all. opening_kg + every movement = closing_kg, to the gram.
with weekly as (
    select
        station,
        strftime(day, '%G-W%V') as week,
        species,
        form,
        what,
        sum(grams) as grams
    from coffee_moves
    where $station in ('', station)
    group by all
),
weeks as (
    select distinct strftime(cast(d as date), '%G-W%V') as week
    from (
        select unnest(generate_series(min(day), max(day), interval 1 day)) as d from coffee_moves
    )
),
places as (
    select station, species, form, min(week) as first_week
    from weekly
    group by all
),
moved as (
    select
        p.station,
        w.week,
        p.species,
        p.form,
        cast(coalesce(sum(m.grams) filter (where m.what = 'opening'), 0) as bigint) as brought_on_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'bought'), 0) as bigint) as bought_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'returned'), 0) as bigint) as returned_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'moved'), 0) as bigint) as moved_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'processed'), 0) as bigint)
            as processed_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'water'), 0) as bigint) as water_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'parts'), 0) as bigint) as parts_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'sorted'), 0) as bigint) as sorted_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'handling'), 0) as bigint) as handling_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'sold'), 0) as bigint) as sold_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'loss'), 0) as bigint) as loss_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'gain'), 0) as bigint) as gain_g,
        cast(coalesce(sum(m.grams) filter (where m.what = 'uncarded'), 0) as bigint) as uncarded_g,
        -- Draws from lot to lot stay within the station and come to nothing.
        cast(coalesce(sum(m.grams), 0) as bigint) as all_g
    from places as p
    inner join weeks as w on w.week >= p.first_week
    left join weekly as m
        on m.station = p.station and m.species = p.species and m.form = p.form and m.week = w.week
    group by p.station, w.week, p.species, p.form
)
select
    station,
    week,
    species,
    form,
    kg_from_grams(cast(sum(all_g) over upto - all_g as bigint)) as opening_kg,
    kg_from_grams(brought_on_g) as brought_on_kg,
    kg_from_grams(bought_g) as bought_kg,
    kg_from_grams(returned_g) as returned_kg,
    kg_from_grams(moved_g) as moved_kg,
    kg_from_grams(processed_g) as processed_kg,
    kg_from_grams(water_g) as water_kg,
    kg_from_grams(parts_g) as parts_kg,
    kg_from_grams(sorted_g) as sorted_kg,
    kg_from_grams(handling_g) as handling_kg,
    kg_from_grams(sold_g) as sold_kg,
    kg_from_grams(loss_g) as loss_kg,
    kg_from_grams(gain_g) as gain_kg,
    kg_from_grams(uncarded_g) as uncarded_kg,
    kg_from_grams(cast(sum(all_g) over upto as bigint)) as closing_kg
from moved
window upto as (
    partition by station, species, form order by week rows unbounded preceding
)
order by station, species, form, week
