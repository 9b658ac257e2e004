-- Grain: one row per live row whose key an earlier row has already. A row of a correction sheet that
-- corrects nothing is no such earlier row, and one that cannot be read as a whole has no key.
with keyed as (
    select
        row_key,
        min(place_of(sheet_no, row_no)) as first_place
    from live_rows as r
    anti join fills as f
        on f.sheet_no = r.sheet_no and f.row_no = r.row_no and f.of_sheet_no is null
    anti join unreadable as u
        on u.sheet_no = r.sheet_no and u.row_no = r.row_no and u.col = ''
    where has_key
    group by row_key
    having count(*) > 1
)
select
    c.sheet_no,
    c.row_no,
    '' as col,
    cast(null as varchar) as value,
    s.name as first_sheet,
    row_of(k.first_place) as first_row
from live_rows as c
inner join keyed as k on k.row_key = c.row_key
inner join sheets as s on s.sheet_no = sheet_of(k.first_place)
where place_of(c.sheet_no, c.row_no) <> k.first_place
