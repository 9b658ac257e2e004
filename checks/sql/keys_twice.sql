-- Grain: one row per live row whose key an earlier row has already. A row of a correction sheet that
-- corrects nothing is no such earlier row, and one that cannot be read as a whole has no key.
-- Filled in from the kind's declaration: $key, the columns that its key is made of.
with numbered as (
    -- Numbers are sorted sooner than texts are grouped, and sooner than so many that differ are grouped
    -- themselves; two keys of one number are told apart below.
    select key_no, lag(key_no) over (order by key_no) as no_before
    from (select hash($key) as key_no from live_rows where has_key)
),
alike as (
    select distinct key_no
    from numbered
    where key_no = no_before
),
doubtful as (
    select r.sheet_no, r.row_no, r.row_key, r.has_key, place_of(r.sheet_no, r.row_no) as place
    from live_rows as r
    inner join alike as a on a.key_no = hash($key)
),
keyed as (
    select
        row_key,
        min(place) as first_place
    from doubtful as r
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
from doubtful as c
inner join keyed as k on k.row_key = c.row_key
inner join sheets as s on s.sheet_no = sheet_of(k.first_place)
where c.place <> k.first_place
