-- Grain: one row per lot: what went in, what came of it and where it stands, kilograms. Hours and days
-- are null where the card has no times. $lot, '' for all.
with moved as (
    select
        lot_no,
        any_value(species order by species) as species,
        string_agg(distinct station, ', ' order by station) as stations,
        min(day) as first_day,
        max(day) as last_day,
        sum(grams) filter (where what in ('bought', 'returned', 'opening', 'drawn', 'moved')
            and grams > 0) as in_g,
        -sum(grams) filter (where what in ('drawn', 'moved') and grams < 0) as on_g,
        -coalesce(sum(grams) filter (where what = 'water'), 0) as water_g,
        -coalesce(sum(grams) filter (where what = 'parts'), 0) as parts_g,
        -coalesce(sum(grams) filter (where what = 'sorted'), 0) as sorted_g,
        -coalesce(sum(grams) filter (where what = 'handling'), 0) as handling_g,
        -coalesce(sum(grams) filter (where what = 'loss'), 0) as loss_g,
        coalesce(sum(grams) filter (where what = 'gain'), 0) as gain_g,
        -coalesce(sum(grams) filter (where what = 'sold'), 0) as sold_g,
        sum(grams) as there_g
    from coffee_moves
    where lot_no <> '' and $lot in ('', lot_no)
    group by lot_no
),
went as (
    -- A draw is two moves of one row: out of the lot, and into the one that is made from it.
    select distinct o.lot_no, i.lot_no as into_lot
    from coffee_moves as o
    inner join coffee_moves as i
        on i.kind = o.kind and i.sheet_no = o.sheet_no and i.row_no = o.row_no
        and i.what = o.what and i.grams > 0
    where o.what in ('drawn', 'moved') and o.grams < 0 and i.lot_no <> o.lot_no
),
timed as (
    select
        lot_no,
        max(hours_to_pulping) as hours_to_pulping,
        max(hours_fermented) as hours_fermented,
        cast(sum(days_dried) as bigint) as days_dried
    from lot_times
    group by lot_no
),
carded as (
    select
        lot_no,
        last(form_after order by seq) as form,
        string_agg(distinct from_lots, ', ' order by from_lots) as from_lots,
        string_agg(
            coalesce(cast(cast(moisture_after as decimal(14, 1)) as varchar), '?'), ' > ' order by seq
        ) filter (where moisture_after is not null) as moisture_path
    from lot_steps
    group by lot_no
)
select
    m.lot_no,
    (
        select string_agg(distinct g.into_lot, ', ' order by g.into_lot)
        from went as g
        where g.lot_no = m.lot_no
    ) as into_lots,
    m.species,
    m.stations,
    m.first_day,
    m.last_day,
    c.form,
    c.from_lots,
    kg_from_grams(cast(coalesce(m.in_g, 0) as bigint)) as in_kg,
    kg_from_grams(cast(coalesce(m.on_g, 0) as bigint)) as passed_on_kg,
    kg_from_grams(cast(m.water_g as bigint)) as water_kg,
    kg_from_grams(cast(m.parts_g as bigint)) as parts_kg,
    kg_from_grams(cast(m.sorted_g as bigint)) as sorted_kg,
    kg_from_grams(cast(m.handling_g as bigint)) as handling_kg,
    kg_from_grams(cast(m.loss_g as bigint)) as loss_kg,
    kg_from_grams(cast(m.gain_g as bigint)) as gain_kg,
    kg_from_grams(cast(m.sold_g as bigint)) as sold_kg,
    kg_from_grams(cast(m.there_g as bigint)) as there_kg,
    t.hours_to_pulping,
    t.hours_fermented,
    t.days_dried,
    c.moisture_path
from moved as m
left join carded as c on c.lot_no = m.lot_no
left join timed as t on t.lot_no = m.lot_no
order by m.lot_no
