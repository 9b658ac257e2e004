-- Grain: one row per receipt, member, day and coffee that a station weighed, of members who keep records, of
-- whose receipts others' records name one, and of rows that name no member. What one delivery brought over the
-- scale, in grams, over all lines of its receipt. Its number, weighed_no, is made of the sheet and row of its
-- first line. Rows left out, replaced, or of a line that stands twice do not take part.
create or replace temp table match_weighed as
with twice as (
    select sheet_no, row_no from flags where kind = 'weighings' and rule = 'receipt-line-twice'
),
delivery as (
    select
        w.station, w.receipt_book, w.receipt_no, w.member_no, w.day, w.species, w.form,
        min(place_of(w.sheet_no, w.row_no)) as weighed_no,
        cast(sum(grams(w.net_kg)) as bigint) as net_g,
        cast(count(*) as integer) as lines,
        max(w.recorder) as recorder,
        arg_min_null(w.scale, place_of(w.sheet_no, w.row_no)) as scale
    from weighings as w
    anti join twice as t on t.sheet_no = w.sheet_no and t.row_no = w.row_no
    where w.state not in ('left_out', 'replaced') and w.net_kg > 0
        and (
            w.member_no is null
            or w.member_no in (
                select member_no from match_records where member_no is not null
                union
                select member_no from receipts_shared where member_no is not null
            )
        )
    group by w.station, w.receipt_book, w.receipt_no, w.member_no, w.day, w.species, w.form
)
select
    d.*, receipt_of(d.station, d.receipt_book, d.receipt_no) as receipt,
    coalesce(l.match_within, e.match_within) as within_pct
from delivery as d
left join limits_here as l
    on l.species = d.species and l.form = d.form and l.station = d.station
inner join limits_here as e on e.species = '' and e.form = '' and e.station = '';
