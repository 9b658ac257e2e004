-- Grain: one row per counted weighing of one member ($member): its green bean equivalent.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, v.gbe_kg as amount,
    w.net_kg || ' kg ' || replace(w.form, '_', ' ') || case w.form
        when 'fresh_cherry' then
            ', by ' || l.cherry_per_green || ' kg cherry a kg green (a stated limit)'
        when 'dry_cherry' then ' times 0.5 (ICO Rules on Statistics)'
        when 'parchment' then ' times 0.8 (ICO Rules on Statistics)'
        else ''
    end as says
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
left join limits_here as l on l.species = w.species and l.form = w.form and l.station = ''
where w.state = 'counted' and w.member_no = $member
union all
select
    'season_so_far', s.sheet_no, s.row_no, 'net_kg', gbe_kg(s.net_kg, s.form, l.cherry_per_green),
    'the season up to ' || s.day || ', before the book began'
from season_so_far as s
left join limits_here as l on l.species = s.species and l.form = s.form and l.station = ''
where s.state = 'counted' and s.member_no = $member
order by sheet_no, row_no
