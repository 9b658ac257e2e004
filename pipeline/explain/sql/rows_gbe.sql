-- Grain: one row per counted weighing of one member ($member): its green bean equivalent.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, v.gbe_kg as amount,
    w.net_kg || ' kg ' || replace(w.form, '_', ' ') || case when w.form = 'green' then '' else
        ', by ' || b.per_green || ' kg a kg green (' || b.basis || ')'
    end as says
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
left join green_basis as b on b.species = w.species and b.form = w.form
where w.state = 'counted' and w.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'net_kg', gbe_kg(s.net_kg, b.per_green),
    'the season up to ' || s.day || ', before the book began'
from season_so_far as s
left join green_basis as b on b.species = s.species and b.form = s.form
where s.state = 'counted' and s.member_no = $member
order by sheet_no, row_no
