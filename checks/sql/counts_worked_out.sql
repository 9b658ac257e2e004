-- Grain: one row per stock count that differs from the book, at the last row of that count.
with off as (
    select station, form, lot_no, day, sheet_no, row_no, cast(sum(grams) as bigint) as off_g
    from coffee_moves
    where kind = 'store_checks'
    group by station, form, lot_no, day, sheet_no, row_no
),
counted as (
    select
        o.sheet_no,
        o.row_no,
        o.off_g,
        (
            select cast(sum(m.grams) as bigint)
            from coffee_moves as m
            where m.station = o.station and m.form = o.form and m.lot_no = o.lot_no
                and m.day <= o.day
        ) as found_g
    from off as o
)
select
    c.* exclude (kg_at_stake),
    kg_from_grams(n.found_g) as found_kg,
    kg_from_grams(n.found_g - n.off_g) as there_kg,
    kg_from_grams(n.off_g) as off_kg,
    kg_from_grams(abs(n.off_g)) as kg_at_stake
from check_rows as c
inner join counted as n on n.sheet_no = c.sheet_no and n.row_no = c.row_no
