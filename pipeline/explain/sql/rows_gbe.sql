-- Grain: one row per counted weighing of one member ($member): its green bean equivalent.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, w.gbe_kg as amount,
    [
        ['kg_of', 'n' || w.net_kg, 'wform:' || w.form],
        case when w.form <> 'green' then ['by_factor', 'n' || b.per_green, 'wbasis:' || b.basis] end
    ] as says
from weighings_valued as w
left join green_basis as b on b.species = w.species and b.form = w.form
where w.state = 'counted' and w.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'net_kg', gbe_kg(s.net_kg, b.per_green),
    [['so_far', 'd' || s.day]]
from season_so_far as s
left join green_basis as b on b.species = s.species and b.form = s.form
where s.state = 'counted' and s.member_no = $member
order by sheet_no, row_no
