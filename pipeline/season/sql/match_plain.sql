-- Grain: one row per plain pair: record and receipt of the same number, member, day and coffee, with
-- weights that fit (unlike at most 100; a copy says just the same), and no other record that names the receipt. By the points of
-- `match_candidates.sql` such a pair gains at least 1800; any other pair of its record gains at most
-- 300 and any other pair of its receipt at most 1100. So the best pairing holds it, and without it
-- loses 400 or more: it is settled, and the rest may be looked at without it.
create or replace temp table match_plain as
with same_receipt as (
    select
        r.record_no, w.weighed_no,
        r.member_no = w.member_no and r.day = w.day and r.species = w.species and r.form = w.form
            and (r.written_from is distinct from 'receipt_copy' or r.kg_g = w.net_g)
            and match_unlike(r.kg_g - w.net_g, w.net_g, w.within_pct) <= 100 as fits
    from match_records as r
    inner join match_weighed as w
        on w.receipt_no = r.receipt_no and w.station = r.station and w.receipt_book = r.receipt_book
),
one_record as (
    select weighed_no, min(record_no) as record_no
    from same_receipt
    group by weighed_no
    having count(*) = 1 and bool_and(fits)
),
several_parts as (
    select record_no
    from same_receipt
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
