-- Grain: one row per member's own record of a delivery that may be matched, in grams. A row that a
-- later version of its sheet no longer has, or that somebody left out, does not take part; one left
-- out for what its match showed does, or the match and the decision would chase each other.
create or replace temp table match_records as
with left_out as (
    select sheet_no, row_no
    from decisions
    where kind = 'deliveries'
        and rule not in ('record-differs', 'receipt-copy-differs', 'receipt-not-weighed')
    group by sheet_no, row_no
    having max_by(action, decision_n) = 'leave-out'
),
record as (
    select
        r.sheet_no, r.row_no, r.station, r.receipt_book, r.receipt_no, r.member_no, r.day,
        r.species, r.form, r.written_from, r.recorder, grams(r.kg) as kg_g
    from live_deliveries as r
    anti join succession as g
        on g.kind = 'deliveries' and g.by_row_no is null
        and g.sheet_no = r.sheet_no and g.row_no = r.row_no
    anti join left_out as o on o.sheet_no = r.sheet_no and o.row_no = r.row_no
    where r.kg > 0
)
select
    cast(row_number() over (order by r.sheet_no, r.row_no) - 1 as integer) as record_no,
    r.*,
    -- Its number is of a receipt of this very member: a near number is then no slip.
    exists (
        select 1
        from match_weighed as w
        where w.station = r.station and w.receipt_book = r.receipt_book
            and w.receipt_no = r.receipt_no and w.member_no = r.member_no
    ) as number_known
from record as r;
