-- Grain: one row per line that is the only one of its form that its member brought, on a receipt whose
-- other lines are of a form that the member brings at other times too.
with own as (
    -- Numbers are grouped sooner than texts: that two members of a book share one of 2^64 is not to be expected.
    select
        hash(member_no, species, form) as about_no, count(*) as lines, min(place_of(sheet_no, row_no)) as place
    from weighings
    where state = 'counted' and form is not null
    group by about_no
),
single as (
    select w.sheet_no, w.row_no, w.station, w.receipt_book, w.receipt_no, w.member_no, w.form
    from weighings as w
    semi join own as a on a.lines = 1 and w.sheet_no = sheet_of(a.place) and w.row_no = row_of(a.place)
),
other as (
    select w.station, w.receipt_book, w.receipt_no, w.member_no, w.species, w.form
    from weighings as w
    semi join single as s on s.receipt_no = w.receipt_no and s.member_no = w.member_no
    where w.state = 'counted'
)
select a.sheet_no, a.row_no, string_agg(distinct o.form, ', ' order by o.form) as other_forms
from single as a
inner join other as o
    on o.station = a.station and o.receipt_book = a.receipt_book and o.receipt_no = a.receipt_no
    and o.member_no = a.member_no and o.form <> a.form
inner join own as usual
    on usual.about_no = hash(o.member_no, o.species, o.form)
where usual.lines > 1 and o.species is not null
group by a.sheet_no, a.row_no
