-- Grain: one row per record, or weighed delivery of a member who keeps records, that has no partner,
-- with its nearest candidates: those that name the same receipt, or are of the same member within a
-- week, by weight and then by day. `match_doubtful` holds those that cannot be told apart.
insert into unmatched
with lone_record as (
    select r.*
    from match_records as r
    anti join match_pairs as p on p.record_no = r.record_no
),
keeper as (
    select distinct member_no from match_records
),
lone_weighed as (
    select w.*
    from match_weighed as w
    semi join keeper as k on k.member_no = w.member_no
    anti join match_pairs as p on p.weighed_no = w.weighed_no
),
week as (
    select unnest(range(-7, 8)) as days
),
near as (
    select 'record' as side, r.record_no, w.weighed_no
    from lone_record as r
    cross join week as d
    inner join match_weighed as w on w.member_no = r.member_no and w.day = r.day + cast(d.days as integer)
    union
    select 'record', r.record_no, w.weighed_no
    from lone_record as r
    inner join match_weighed as w
        on w.station = r.station and w.receipt_book = r.receipt_book and w.receipt_no = r.receipt_no
    union
    select 'weighing', r.record_no, w.weighed_no
    from lone_weighed as w
    cross join week as d
    inner join match_records as r on r.member_no = w.member_no and r.day = w.day + cast(d.days as integer)
    union
    select 'weighing', r.record_no, w.weighed_no
    from lone_weighed as w
    inner join match_records as r
        on r.station = w.station and r.receipt_book = w.receipt_book and r.receipt_no = w.receipt_no
),
ranked as (
    select
        n.side, n.record_no, n.weighed_no, r.kg_g - w.net_g as apart_g, r.day - w.day as days_apart,
        p.record_no is not null as taken,
        row_number() over (
            partition by n.side, case n.side when 'record' then n.record_no else n.weighed_no end
            order by
                p.record_no is not null, abs(r.kg_g - w.net_g) // 1000 + 5 * abs(r.day - w.day),
                n.weighed_no, n.record_no
        ) as place
    from near as n
    inner join match_records as r on r.record_no = n.record_no
    inner join match_weighed as w on w.weighed_no = n.weighed_no
    left join match_pairs as p
        on case n.side when 'record' then p.weighed_no = n.weighed_no
            else p.record_no = n.record_no end
),
listed as (
    select
        k.side,
        case k.side when 'record' then k.record_no else k.weighed_no end as row_id,
        to_json(list({
            'sheet_no': case k.side when 'record' then w.sheet_no else r.sheet_no end,
            'row_no': case k.side when 'record' then w.row_no else r.row_no end,
            'receipt_book': case k.side when 'record' then w.receipt_book else r.receipt_book end,
            'receipt_no': case k.side when 'record' then w.receipt_no else r.receipt_no end,
            'member_no': case k.side when 'record' then w.member_no else r.member_no end,
            'day': case k.side when 'record' then w.day else r.day end,
            'kg': cast(
                kg_from_grams(case k.side when 'record' then w.net_g else r.kg_g end) as varchar
            ),
            'kg_apart': cast(kg_from_grams(k.apart_g) as varchar),
            'days_apart': k.days_apart,
            'has_partner': k.taken
        } order by k.place)) as nearest
    from ranked as k
    inner join match_records as r on r.record_no = k.record_no
    inner join match_weighed as w on w.weighed_no = k.weighed_no
    where k.place <= 3
    group by k.side, row_id
),
weighed_until as (
    select station, max(day) as day from match_weighed group by station
),
lone as (
    select
        'record' as side, r.record_no as row_id, r.sheet_no, r.row_no, r.member_no, r.station, r.day,
        r.species, r.form, r.receipt_book, r.receipt_no, r.kg_g as g, r.written_from,
        coalesce(
            r.receipt_no is not null and r.receipt_book is not null and u.day >= r.day
            and not exists (
                select 1
                from match_weighed as w
                where w.station = r.station and w.receipt_book = r.receipt_book
                    and w.receipt_no = r.receipt_no
            ), false
        ) as receipt_unknown
    from lone_record as r
    left join weighed_until as u on u.station = r.station
    union all
    select
        'weighing', w.weighed_no, w.sheet_no, w.row_no, w.member_no, w.station, w.day,
        w.species, w.form, w.receipt_book, w.receipt_no, w.net_g, null, false
    from lone_weighed as w
)
select
    l.side, l.sheet_no, l.row_no, l.member_no, l.station, l.day, l.species, l.form,
    l.receipt_book, l.receipt_no, kg_from_grams(l.g), l.written_from,
    case
        when d.row_id is not null then 'cannot-be-told-apart'
        when n.nearest is null then 'no-candidate'
        else 'unsure'
    end,
    l.receipt_unknown,
    coalesce(n.nearest, '[]')
from lone as l
left join listed as n on n.side = l.side and n.row_id = l.row_id
left join match_doubtful as d on d.side = l.side and d.row_id = l.row_id
order by l.side, l.sheet_no, l.row_no;
