-- Grain: one row per member's record and weighed delivery that could be the same, with what agrees
-- and how much it speaks for the two being one: `gain`, in hundredths of a natural logarithm of the
-- odds. Rows of plain pairs are not looked at again. Found by receipt number, or by member, coffee and
-- day (one day either side). A receipt number is not enough by itself: member and either day or weight
-- must agree as well, or, where one slip parts the member numbers, all of them. A member's day with so
-- many rows that any could be any other (more than $most pairs) is left to receipt numbers.
create or replace temp table match_candidates as
with lone_record as (
    select r.* exclude (recorder)
    from match_records as r
    anti join match_plain as p on p.record_no = r.record_no
),
named as (
    select n.*
    from match_named as n
    anti join match_plain as p on p.record_no = n.record_no
),
shared as (
    select receipt
    from lone_record
    where receipt is not null
    group by receipt
    having count(*) > 1
),
record as (
    select
        r.*,
        -- Its number is of a receipt of this very member: a near number is then no slip. Where another
        -- record names the same receipt, one of the two may well have the number of the other.
        r.record_no in (select record_no from named where same_member) as number_known,
        r.receipt in (select receipt from shared) as number_shared
    from lone_record as r
),
weighed as (
    select w.* exclude (lines, recorder, scale)
    from match_weighed as w
    anti join match_plain as p on p.weighed_no = w.weighed_no
),
crowded as (
    select about from (
        select hash(member_no, day) as about, 1 as written, 0 as brought from lone_record
        union all
        select hash(member_no, day), 0, 1 from weighed
    )
    group by about
    having sum(written) * sum(brought) > $most
),
near as (
    select r, w
    from named as n
    inner join record as r on r.record_no = n.record_no
    inner join weighed as w on w.weighed_no = n.weighed_no
    union all
    select r, w
    from record as r
    inner join weighed as w
        on w.member_no = r.member_no and w.species = r.species and w.form = r.form
        and w.day between r.day - 1 and r.day + 1
    where hash(r.member_no, r.day) not in (select about from crowded)
        and coalesce(w.receipt <> r.receipt, true)
),
compared as (
    select
        r.record_no,
        w.weighed_no,
        case
            when r.receipt_no is null then 'none'::match_receipt
            when r.receipt = w.receipt then 'same'
            when r.number_known and r.number_shared then 'shared'
            when r.number_known then 'other'
            when w.receipt_no is null then 'none'
            when r.receipt_book is null and r.station = w.station
                and r.receipt_no = w.receipt_no then 'number'
            when r.station = w.station and r.receipt_book = w.receipt_book
                and damerau_levenshtein(
                    cast(r.receipt_no as varchar), cast(w.receipt_no as varchar)
                ) <= 1 then 'slip'
            when r.station = w.station and r.receipt_no = w.receipt_no
                and damerau_levenshtein(r.receipt_book, w.receipt_book) <= 1 then 'slip'
            when r.receipt_book = w.receipt_book and r.receipt_no = w.receipt_no then 'slip'
            else 'other'
        end as receipt_is,
        case
            when r.member_no = w.member_no then 'same'
            when damerau_levenshtein(r.member_no, w.member_no) <= 1 then 'slip'
            else 'other'
        end as member_is,
        coalesce(r.species = w.species and r.form = w.form, false) as same_coffee,
        coalesce(r.station = w.station, false) as same_station,
        cast(r.day - w.day as integer) as days_apart,
        r.written_from = 'receipt_copy' as copied,
        r.kg_g,
        w.net_g,
        w.within_pct
    from near
),
weighed_up as (
    select
        * exclude (copied),
        case
            when kg_g = net_g then 'equal'::match_weight
            when copied and length(cast(kg_g as varchar)) = length(cast(net_g as varchar))
                and damerau_levenshtein(cast(kg_g as varchar), cast(net_g as varchar)) <= 1
                then 'digit'
            when abs(kg_g - net_g) * 100 <= within_pct * net_g then 'within'
            when abs(kg_g * 10 - net_g) * 100 <= within_pct * net_g
                or abs(kg_g - net_g * 10) * 100 <= within_pct * net_g * 10
                or abs(kg_g * 100 - net_g) * 100 <= within_pct * net_g
                or abs(kg_g - net_g * 100) * 100 <= within_pct * net_g * 100 then 'tenfold'
            -- 1 lb is 0.45359237 kg exactly (international yard and pound agreement, 1959).
            when abs(kg_g * 0.45359237 - net_g) * 100 <= within_pct * net_g
                or abs(kg_g - net_g * 0.45359237) * 100 <= within_pct * net_g * 0.45359237
                then 'pounds'
            when length(cast(kg_g as varchar)) = length(cast(net_g as varchar))
                and damerau_levenshtein(cast(kg_g as varchar), cast(net_g as varchar)) <= 1
                then 'digit'
            else 'far'
        end as weight_is,
        match_unlike(kg_g - net_g, net_g, within_pct) as unlike
    from compared
),
scored as (
    select
        record_no, weighed_no, receipt_is, member_is, same_coffee, days_apart, weight_is,
        case receipt_is
            when 'same' then 900 when 'number' then 500 when 'slip' then 100 when 'none' then 0
            when 'shared' then -300
            else -700
        end
        + case member_is when 'same' then 700 else 200 end
        + case
            when days_apart = 0 then 200 when abs(days_apart) = 1 then -200 else -300
        end
        + case when same_coffee then 0 else -300 end
        + case when same_station then 0 else -200 end
        + greatest(
            300 - unlike,
            case weight_is when 'tenfold' then 100 when 'pounds' then -50 when 'digit' then -200 end,
            -300
        )
        -- What two rows of one member have in common by chance.
        - $by_chance as gain
    from weighed_up
    where (
            member_is = 'same'
            and (abs(days_apart) <= 1 or weight_is <> 'far')
        )
        or (
            member_is = 'slip' and same_coffee and days_apart = 0
            and weight_is in ('equal', 'within')
        )
)
select
    record_no, weighed_no, receipt_is, member_is, same_coffee, days_apart, weight_is,
    cast(gain as integer) as gain
from scored
where gain > 0;
