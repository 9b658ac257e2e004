-- Grain: one row per record, or weighed delivery of a member who keeps records, that has no partner,
-- with its nearest candidates: those that name the same receipt, or are of the same member within a
-- week, those still free first, by weight and then by day. `match_doubtful` holds those that cannot be
-- told apart.
insert into unmatched
with lone_record as (
    select r.*
    from match_records as r
    anti join match_pairs as p on p.record_no = r.record_no
),
lone_weighed as (
    select w.*
    from match_weighed as w
    anti join match_pairs as p on p.weighed_no = w.weighed_no
    where w.member_no in (select member_no from match_records)
),
-- Both sides under the same names, what is alone and what it may belong to.
lone as (
    select
        'record' as side, record_no as own_no, member_no, station, day, species, form,
        receipt, receipt_book, receipt_no, kg_g as g, written_from
    from lone_record
    union all
    select
        'weighing', weighed_no, member_no, station, day, species, form, receipt, receipt_book, receipt_no,
        net_g, null
    from lone_weighed
),
other as not materialized (
    select
        'record' as side, weighed_no as other_no, member_no, day, receipt, receipt_book, receipt_no,
        net_g as g
    from match_weighed
    union all
    select 'weighing', record_no, member_no, day, receipt, receipt_book, receipt_no, kg_g
    from match_records
),
taken as not materialized (
    select 'record' as side, weighed_no as other_no from match_pairs
    union all
    select 'weighing', record_no from match_pairs
),
near as (
    select l.side, l.own_no, l.g as own_g, l.day as own_day, o.* exclude (side, receipt)
    from lone as l
    inner join other as o on o.side = l.side and o.member_no = l.member_no
    where o.day between l.day - 7 and l.day + 7
    union all
    select l.side, l.own_no, l.g, l.day, o.* exclude (side, receipt)
    from lone as l
    inner join other as o on o.side = l.side and o.receipt = l.receipt
    where not coalesce(o.member_no = l.member_no and o.day between l.day - 7 and l.day + 7, false)
),
listed as (
    select
        n.side,
        n.own_no,
        to_json(min_by(
            {
                'sheet_no': sheet_of(n.other_no),
                'row_no': row_of(n.other_no),
                'receipt_book': n.receipt_book,
                'receipt_no': n.receipt_no,
                'member_no': n.member_no,
                'day': n.day,
                'kg': cast(kg_from_grams(n.g) as varchar),
                'kg_apart': cast(
                    kg_from_grams(case n.side when 'record' then n.own_g - n.g else n.g - n.own_g end) as varchar
                ),
                'days_apart': cast(
                    case n.side when 'record' then n.own_day - n.day else n.day - n.own_day end as integer
                ),
                'has_partner': t.other_no is not null
            },
            (t.other_no is not null, abs(n.own_g - n.g) // 1000 + 5 * abs(n.own_day - n.day), n.other_no),
            3
        )) as nearest
    from near as n
    left join taken as t on t.side = n.side and t.other_no = n.other_no
    group by n.side, n.own_no
)
select
    l.side,
    sheet_of(l.own_no),
    row_of(l.own_no),
    l.member_no, l.station, l.day, l.species, l.form,
    l.receipt_book, l.receipt_no, kg_from_grams(l.g), l.written_from,
    case
        when d.row_id is not null then 'cannot-be-told-apart'
        when n.nearest is null then 'no-candidate'
        else 'unsure'
    end,
    -- Worked out once all of these stand here, by `match_receipts.sql`.
    false,
    false,
    coalesce(n.nearest, '[]')
from lone as l
left join listed as n on n.side = l.side and n.own_no = l.own_no
left join match_doubtful as d on d.side = l.side and d.row_id = l.own_no;
