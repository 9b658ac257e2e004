-- Grain: one row per record and weighed delivery of the receipt that it names: whether they are of one member, and
-- whether they fit: member, day, coffee and weights (unlike at most 100; a copy says just the same).
create or replace temp table match_named as
select
    r.record_no, w.weighed_no,
    r.member_no = w.member_no as same_member,
    r.member_no = w.member_no and r.day = w.day and r.species = w.species and r.form = w.form
        and (r.written_from is distinct from 'receipt_copy' or r.kg_g = w.net_g)
        and match_unlike(r.kg_g - w.net_g, w.net_g, w.within_pct) <= 100 as fits
from match_records as r
inner join match_weighed as w on w.receipt = r.receipt;
