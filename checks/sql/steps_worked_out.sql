-- Grain: one row per weighed step of a lot, at its row on the card: what lay there for it, what it may
-- give, and all that is not explained, between the steps as well as in this one.
with off as (
    select
        sheet_no,
        row_no,
        -cast(coalesce(sum(grams) filter (where what = 'loss'), 0) as bigint) as loss_g,
        -cast(coalesce(sum(grams) filter (where what in ('loss', 'handling')), 0) as bigint)
            as away_g,
        cast(coalesce(sum(grams) filter (where what = 'gain'), 0) as bigint) as gain_g
    from coffee_moves
    where kind = 'lots'
    group by sheet_no, row_no
)
select
    c.* exclude (kg_at_stake),
    w.steps,
    kg_from_grams(w.in_g) as went_in_kg,
    kg_from_grams(w.out_g) as came_out_kg,
    kg_from_grams(w.low_g) as least_kg,
    kg_from_grams(w.high_g) as most_kg,
    kg_from_grams(o.loss_g) as loss_kg,
    kg_from_grams(o.gain_g) as gain_kg,
    kg_from_grams(
        w.in_g - (o.gain_g - w.gain_g) + (o.away_g - w.loss_g - w.handling_g)
    ) as there_kg,
    kg_from_grams(greatest(o.loss_g, o.gain_g)) as kg_at_stake
from check_rows as c
inner join lot_steps as w on w.sheet_no = c.sheet_no and w.row_no = c.row_no
inner join off as o on o.sheet_no = c.sheet_no and o.row_no = c.row_no
-- What the rules ask for, quickly told: most steps lose and gain no more than that.
where greatest(loss_kg, gain_kg) * 100 > c.loss_asked * there_kg
