-- Grain: one row per plain pair: one that fits, of a record that names no other delivery and a receipt that no other
-- record names. By the points of `match_candidates.sql` such a pair gains at least 1800; any other pair of its record
-- gains at most 300 and any other pair of its receipt at most 1100. So the best pairing holds it, and without it
-- loses 400 or more: it is settled, and the rest may be looked at without it.
create or replace temp table match_plain as
with one_record as (
    select weighed_no, min(record_no) as record_no
    from match_named
    group by weighed_no
    having count(*) = 1 and bool_and(fits)
),
several_parts as (
    select record_no
    from match_named
    group by record_no
    having count(*) > 1
),
no_book as (
    select distinct station, receipt_no
    from match_records
    where receipt_book is null and receipt_no is not null
),
numbered as (
    select w.weighed_no
    from no_book as b
    inner join match_weighed as w on w.station = b.station and w.receipt_no = b.receipt_no
)
select o.record_no, o.weighed_no
from one_record as o
anti join several_parts as s on s.record_no = o.record_no
anti join numbered as n on n.weighed_no = o.weighed_no;
