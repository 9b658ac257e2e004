-- Grain: one row per receipt that one member's record names and that is weighed in under another member,
-- on the same day within a week, at its first line.
with receipt as (
    select
        station, receipt_book, receipt_no, any_value(member_no) as member_no, min(day) as day,
        min(place_of(sheet_no, row_no)) as place, cast(sum(net_kg) as decimal(14, 3)) as net_kg
    from weighings
    where state in ('counted', 'held') and receipt_no is not null
    group by station, receipt_book, receipt_no
    having min(member_no) = max(member_no)
),
claimed as (
    select
        c.place, min_by({'member_no': d.member_no, 'kg': d.kg}, (d.sheet_no, d.row_no)) as record
    from receipt as c
    inner join deliveries as d
        on d.station = c.station and d.receipt_book = c.receipt_book and d.receipt_no = c.receipt_no
    where d.state = 'counted' and d.member_no <> c.member_no
        and d.day between c.day - 7 and c.day + 7
        -- Whose other delivery it was matched with wrote a wrong number.
        and not exists (
            select 1 from matched as m
            where m.record_sheet_no = d.sheet_no and m.record_row_no = d.row_no
                and m.standing = 'settled' and m.weight_is in ('equal', 'within')
        )
    group by c.place
)
select
    r.*, c.record.member_no as other_member_no, c.record.kg as record_kg
from claimed as c
inner join check_rows as r on r.sheet_no = sheet_of(c.place) and r.row_no = row_of(c.place)
