-- Grain: one row per line that is the only one of its form that its member brought, on a receipt whose
-- other lines are of a form that the member brings at other times too.
with own as (
    select member_no, species, form, count(*) as lines, min(place_of(sheet_no, row_no)) as place
    from weighings
    where state = 'counted' and form is not null
    group by member_no, species, form
),
alone as (
    select w.sheet_no, w.row_no, string_agg(distinct o.form, ', ' order by o.form) as other_forms
    from own as a
    inner join weighings as w on w.sheet_no = sheet_of(a.place) and w.row_no = row_of(a.place)
    inner join weighings as o
        on o.station = w.station and o.receipt_book = w.receipt_book and o.receipt_no = w.receipt_no
        and o.member_no = w.member_no and o.form <> w.form and o.state = 'counted'
    inner join own as usual
        on usual.member_no = o.member_no and usual.species = o.species and usual.form = o.form
    where a.lines = 1 and usual.lines > 1
    group by w.sheet_no, w.row_no
)
select r.*, a.other_forms
from alone as a
inner join check_rows as r on r.sheet_no = a.sheet_no and r.row_no = a.row_no
