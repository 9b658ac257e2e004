-- Grain: one row per member's own record of a delivery that may be matched, in grams; record_no is
-- made of its sheet and row. A row that a later version of its sheet no longer has, or that somebody
-- left out, does not take part; one left out for what its match showed does, or the match and the
-- decision would chase each other.
create or replace temp table match_records as
with left_out as (
    select sheet_no, row_no
    from decisions
    where kind = 'deliveries'
        and rule not in ('record-differs', 'receipt-copy-differs', 'receipt-not-weighed')
    group by sheet_no, row_no
    having max_by(action, decision_n) = 'leave-out'
)
select
    cast(r.sheet_no as bigint) * 4294967296 + r.row_no as record_no,
    r.station, r.receipt_book, r.receipt_no, r.member_no, r.day, r.species, r.form,
    r.written_from, r.recorder, grams(r.kg) as kg_g
from live_deliveries as r
anti join succession as g
    on g.kind = 'deliveries' and g.by_row_no is null
    and g.sheet_no = r.sheet_no and g.row_no = r.row_no
anti join left_out as o on o.sheet_no = r.sheet_no and o.row_no = r.row_no
where r.kg > 0;
