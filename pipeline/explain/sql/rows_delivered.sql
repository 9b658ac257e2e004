-- Grain: one row per counted weighing of one member ($member), species ($one) and form ($two).
select
    'weighings' as kind, sheet_no, row_no, 'net_kg' as col, net_kg as amount,
    cast(gross_kg as varchar) || ' kg gross less ' || tare_kg || ' kg tare' as says
from weighings
where state = 'counted' and member_no = $member and species = $one and form = $two
order by day, sheet_no, row_no
