-- Grain: one row per weighed step of one lot ($lot): weights in kilograms, what it may give, the
-- difference named, and the row of the card it stands on.
select
    w.seq,
    w.steps,
    w.station,
    w.begun_on,
    w.day,
    w.form_before,
    w.form_after,
    kg_from_grams(w.in_g) as in_kg,
    kg_from_grams(w.out_g) as out_kg,
    kg_from_grams(w.low_g) as least_kg,
    kg_from_grams(w.high_g) as most_kg,
    -- What came out of a hundred of what went in.
    cast(cast(div_half_away(w.out_g * 1000, nullif(w.in_g, 0)) as decimal(18, 0)) * 0.1
        as decimal(14, 1)) as outturn_pct,
    w.moisture_after,
    kg_from_grams(w.water_g) as water_kg,
    kg_from_grams(w.parts_g) as parts_kg,
    kg_from_grams(w.sorted_g) as sorted_kg,
    kg_from_grams(w.handling_g) as handling_kg,
    kg_from_grams(w.loss_g) as loss_kg,
    kg_from_grams(w.gain_g) as gain_kg,
    s.name as sheet,
    w.row_no
from lot_steps as w
inner join sheets as s on s.sheet_no = w.sheet_no
where w.lot_no = $lot
order by w.seq
