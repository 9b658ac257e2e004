-- Grain: one row per pair, from `match_pairs`. The first reason that holds is the why.
insert into matched
with pair as materialized (
    select
        p.record_no, p.weighed_no, p.standing, p.receipt_is, p.member_is, p.same_coffee, p.days_apart,
        w.member_no, w.station, w.day, w.receipt_book, w.receipt_no, w.lines,
        r.kg_g, w.net_g, r.written_from, r.recorder as written_by, w.recorder as weighed_by,
        coalesce(p.weight_is, case when r.kg_g = w.net_g then 'equal'::match_weight else 'within' end) as weight_is,
        w.scale,
        case when p.standing = 'settled' and r.written_from is not null
            then cast(ln(r.kg_g / w.net_g) as decimal(18, 6)) end as off_ln
    from match_pairs as p
    inner join match_records as r on r.record_no = p.record_no
    inner join match_weighed as w on w.weighed_no = p.weighed_no
),
-- A member's balance may always read a little off: what is usual in the records written from the same.
usual as (
    select
        member_no, written_from, case when count(*) >= 5 then median(off_ln) else 0 end as usual_ln
    from pair
    where off_ln is not null
    group by member_no, written_from
)
select
    sheet_of(record_no), row_of(record_no),
    sheet_of(weighed_no), row_of(weighed_no),
    p.member_no, station, day, receipt_book, receipt_no, lines,
    kg_from_grams(kg_g), kg_from_grams(net_g),
    cast(div_half_away((kg_g - net_g) * 1000, net_g) * 0.1 as decimal(14, 1)),
    case
        when receipt_is = 'same' and member_is = 'slip' then 'receipt-member-slip'::match_why
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
    receipt_is, weight_is, standing, p.written_from, weighed_by,
    coalesce(
        p.written_from <> 'receipt_copy' and lower(written_by) is distinct from lower(weighed_by), false
    ),
    scale,
    p.off_ln - u.usual_ln
from pair as p
left join usual as u on u.member_no = p.member_no and u.written_from = p.written_from
