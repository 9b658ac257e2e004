-- Grain: one row per member's own record of a delivery that may be matched, in grams; record_no is
-- made of its sheet and row. A row that a later version of its sheet no longer has, or that is among
-- `records_left_out`, does not take part.
create or replace temp table match_records as
select
    place_of(r.sheet_no, r.row_no) as record_no,
    receipt_of(r.station, r.receipt_book, r.receipt_no) as receipt,
    r.station, r.receipt_book, r.receipt_no, r.member_no, r.day, r.species, r.form,
    r.written_from, r.recorder, grams(r.kg) as kg_g
from live_deliveries as r
anti join succession as g
    on g.kind = 'deliveries' and g.by_row_no is null
    and g.sheet_no = r.sheet_no and g.row_no = r.row_no
anti join records_left_out as o on o.sheet_no = r.sheet_no and o.row_no = r.row_no
where r.kg > 0;
