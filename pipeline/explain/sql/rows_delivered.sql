-- Grain: one row per counted weighing of one member ($member), species ($one) and form ($two).
select
    'weighings' as kind, sheet_no, row_no, 'net_kg' as col, net_kg as amount,
    [['gross_less_tare', 'n' || gross_kg, 'n' || tare_kg]] as says
from weighings_valued
where state = 'counted' and member_no = $member and species = $one and form = $two
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'net_kg', s.net_kg,
    [['so_far', 'd' || s.day]]
from season_so_far as s
where s.state = 'counted' and s.member_no = $member and s.species = $one and s.form = $two
order by sheet_no, row_no
