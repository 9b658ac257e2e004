-- Grain: one row per station and day of the spans ($span: day or week) in which weighings changed; `since` is
-- the span's first day.
create or replace temp table touched_days as
with changed as (
    select distinct r.station, cast(date_trunc($span, r.day) as date) as since
    from rows_weighings as r
    inner join touched as t on t.kind = 'weighings' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
)
select station, since, since + cast(n.n as integer) as day
from changed
cross join range(7) as n (n)
where date_trunc($span, since + cast(n.n as integer)) = since
