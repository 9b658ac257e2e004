-- Grain: one row per receipt line whose gross weight, with one likely slip undone, makes its receipt agree
-- with the member's own record of it, where the two differ by more than such records do: of several
-- lines and slips the one that comes nearest. A member's balance may always read a little off: records
-- are held beside what that member's others usually differ by.
with beside as not materialized (
    select
        member_no, station, day, receipt_book, receipt_no, written_from,
        grams(record_kg) as record_g, grams(net_kg) as receipt_g, apart_ln
    from matched
    where apart_ln is not null
),
spread as (
    select written_from, 1.4826 * mad(apart_ln) as spread_ln
    from beside
    group by written_from
),
doubtful as (
    select
        b.*,
        -- The receipt with what is usual between the two: less what is not.
        cast(b.receipt_g * exp(b.apart_ln) as bigint) as expected_g,
        -- Copies of a receipt say what it says; others round to half a kilogram.
        cast(2.5 * s.spread_ln * b.record_g as bigint)
            + case when b.written_from = 'receipt_copy' then 0 else 250 end as within_g
    from beside as b
    inner join spread as s on s.written_from = b.written_from
    where abs(b.apart_ln) > 4 * s.spread_ln
),
line as (
    select
        w.sheet_no, w.row_no, w.gross_kg, w.net_kg, d.member_no, d.record_g, d.receipt_g, d.expected_g,
        d.within_g, grams(w.gross_kg) as gross_g
    from doubtful as d
    inner join weighings as w
        on w.station = d.station and w.receipt_book is not distinct from d.receipt_book
        and w.receipt_no is not distinct from d.receipt_no and w.day = d.day
        and w.member_no = d.member_no
    where w.state = 'counted' and w.gross_kg > 0
),
undone as (
    select *, unnest(slips_undone(gross_g)) as s
    from line
),
fits as (
    select *, abs(receipt_g + s.g - gross_g - expected_g) as left_g
    from undone
    where s.g - gross_g + grams(net_kg) > 0
        and abs(receipt_g + s.g - gross_g - expected_g)
            -- A point or a unit slips with some rounding.
            <= within_g + case when s.slip in ('point', 'pounds') then s.g // 100 else 0 end
        and abs(receipt_g - expected_g) > 2 * abs(receipt_g + s.g - gross_g - expected_g)
),
best as (
    select min_by(f, (left_g, sheet_no, row_no, s.slip, s.g)) as f
    from fits as f
    group by member_no, record_g, receipt_g, expected_g
)
select
    b.f.sheet_no as sheet_no, b.f.row_no as row_no,
    kg_from_grams(b.f.record_g) as record_kg,
    kg_from_grams(b.f.receipt_g) as receipt_kg,
    kg_from_grams(b.f.s.g) as corrected_kg,
    kg_from_grams(abs(b.f.s.g - b.f.gross_g)) as kg_at_stake,
    cast(div_half_away(
        cast(v.value_minor as hugeint) * abs(b.f.s.g - b.f.gross_g),
        cast(grams(b.f.net_kg) as hugeint)
    ) as bigint) as minor_at_stake
from best as b
left join (
    select v.sheet_no, v.row_no, v.value_minor
    from valued as v
    semi join best on v.sheet_no = best.f.sheet_no and v.row_no = best.f.row_no
) as v on v.sheet_no = b.f.sheet_no and v.row_no = b.f.row_no
