-- Grain: one row per counted weighing of one member ($member): its value, and the price row behind it.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, w.value_minor as amount,
    [
        case
            when w.paid_kg = w.net_kg then ['kg', 'n' || w.paid_kg]
            else ['kg_at', 'n' || w.paid_kg, 'n' || p.standard_moisture_pct, 'n' || w.net_kg, 'n' || w.moisture_pct]
        end,
        ['price', 'n' || w.price_per_kg, 't' || p.list_no, 'd' || p.from_day]
    ] as says,
    w.price_sheet_no, w.price_row_no
from weighings_valued as w
inner join prices as p on p.sheet_no = w.price_sheet_no and p.row_no = w.price_row_no
where w.state = 'counted' and w.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'value', s.value_minor,
    [['so_far', 'd' || s.day]],
    null, null
from season_so_far as s
where s.state = 'counted' and s.member_no = $member
order by sheet_no, row_no
