-- Grain: one row per pair, from `match_pairs`. The first reason that holds is the why.
insert into matched
with pair as (
    select
        p.record_no, p.weighed_no, p.standing, p.receipt_is, p.member_is, p.same_coffee, p.days_apart,
        w.member_no, w.station, w.day, w.species, w.form, w.receipt_book, w.receipt_no, w.lines,
        r.kg_g, w.net_g, r.written_from, r.recorder as written_by, w.recorder as weighed_by,
        coalesce(p.weight_is, case when r.kg_g = w.net_g then 'equal' else 'within' end) as weight_is,
        w.scale
    from match_pairs as p
    inner join match_records as r on r.record_no = p.record_no
    inner join match_weighed as w on w.weighed_no = p.weighed_no
)
select
    sheet_of(record_no), row_of(record_no),
    sheet_of(weighed_no), row_of(weighed_no),
    member_no, station, day, species, form, receipt_book, receipt_no, lines,
    kg_from_grams(kg_g), kg_from_grams(net_g), kg_from_grams(kg_g - net_g),
    cast(div_half_away((kg_g - net_g) * 1000, net_g) * 0.1 as decimal(14, 1)),
    days_apart,
    case
        when receipt_is = 'same' and member_is = 'slip' then 'receipt-member-slip'
        when receipt_is = 'same' and not same_coffee then 'receipt-coffee-differs'
        when receipt_is = 'same' and weight_is = 'far' then 'receipt-weight-differs'
        when receipt_is = 'same' and weight_is not in ('equal', 'within') then 'receipt-weight-slip'
        when receipt_is = 'same' and days_apart is distinct from 0 then 'receipt-day-differs'
        when receipt_is = 'same' then 'receipt'
        when receipt_is in ('slip', 'number') and weight_is in ('equal', 'within') then 'receipt-slip'
        when receipt_is in ('slip', 'number') and weight_is = 'far' then 'receipt-slip-weight-differs'
        when receipt_is in ('slip', 'number') then 'receipt-and-weight-slip'
        when weight_is = 'far' then 'member-day-weight-differs'
        when weight_is not in ('equal', 'within') then 'member-day-weight-slip'
        when days_apart <> 0 then 'member-next-day-weight'
        else 'member-day-weight'
    end,
    receipt_is, weight_is, standing, written_from, written_by, weighed_by,
    coalesce(
        written_from <> 'receipt_copy' and lower(written_by) is distinct from lower(weighed_by), false
    ),
    scale,
    a.apart_ln
from pair
left join match_apart as a using (record_no);
