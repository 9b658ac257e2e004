-- Grain: one row per receipt, member, day and coffee that a station weighed: what one delivery
-- brought over the scale, in grams, over all lines of its receipt. Rows left out or replaced do not
-- take part; a receipt line that stands twice is taken once.
create or replace temp table match_weighed as
with line as (
    select
        w.sheet_no, w.row_no, w.station, w.receipt_book, w.receipt_no, w.line, w.member_no, w.day,
        w.species, w.form, w.recorder, grams(w.net_kg) as net_g,
        row_number() over (
            partition by w.station, w.receipt_book, w.receipt_no, w.line
            order by w.state <> 'counted', w.sheet_no, w.row_no
        ) as turn
    from weighings as w
    where w.state not in ('left_out', 'replaced') and w.net_kg > 0
),
delivery as (
    select
        station, receipt_book, receipt_no, member_no, day, species, form,
        min((sheet_no, row_no)) as place,
        cast(sum(net_g) as bigint) as net_g,
        cast(count(*) as integer) as lines,
        max(recorder) as recorder
    from line
    where turn = 1 or receipt_book is null or receipt_no is null or line is null
    group by station, receipt_book, receipt_no, member_no, day, species, form
)
select
    cast(row_number() over (order by d.place) - 1 as integer) as weighed_no,
    d.place[1] as sheet_no,
    d.place[2] as row_no,
    d.* exclude (place),
    coalesce(l.match_within, 0) as within_pct
from delivery as d
left join limits_here as l
    on l.species = coalesce(d.species, '') and l.form = coalesce(d.form, '')
    and l.station = case
        when d.station in (select s.station from stations as s) then d.station else ''
    end;
