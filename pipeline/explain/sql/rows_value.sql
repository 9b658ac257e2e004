-- Grain: one row per counted weighing of one member ($member): its value, and the price row behind it.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, v.value_minor as amount,
    v.paid_kg || ' kg' || case when v.paid_kg <> w.net_kg then ' at ' || p.standard_moisture_pct
        || ' % moisture (' || w.net_kg || ' kg at ' || w.moisture_pct || ' %)' else '' end
        || ' times ' || v.price_per_kg || ' (list ' || p.list_no || ', from ' || p.from_day
        || ')' as says,
    v.price_sheet_no, v.price_row_no
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
inner join prices as p on p.sheet_no = v.price_sheet_no and p.row_no = v.price_row_no
where w.state = 'counted' and w.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'value', s.value_minor,
    'the season up to ' || s.day || ', before the book began',
    null, null
from season_so_far as s
where s.state = 'counted' and s.member_no = $member
order by sheet_no, row_no
