-- Grain: one row per row of the kind looked at that following the coffee set aside, with why.
select c.sheet_no, c.row_no, a.why, a.about, a.there_kg
from live_rows as c
inner join looked_at as k on true
inner join coffee_aside as a
    on a.kind = k.kind and a.sheet_no = c.sheet_no and a.row_no = c.row_no
