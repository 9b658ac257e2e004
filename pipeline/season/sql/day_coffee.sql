-- Grain: one row per species, form and grade weighed at a station ($station) on a day ($day): lines,
-- bags and weight by what became of the rows; floaters and rejects apart, as they were taken out.
select
    w.species,
    w.form,
    w.grade,
    count(*) filter (where w.state = 'counted') as lines,
    cast(coalesce(sum(w.bags) filter (where w.state = 'counted'), 0) as bigint) as bags,
    cast(coalesce(sum(w.net_kg) filter (where w.state = 'counted'), 0) as decimal(14, 3)) as net_kg,
    count(*) filter (where w.state in ('held', 'sent_back')) as waiting_lines,
    cast(coalesce(sum(w.net_kg) filter (where w.state in ('held', 'sent_back')), 0)
        as decimal(14, 3)) as waiting_kg,
    cast(coalesce(sum(coalesce(w.floaters_kg, 0) + coalesce(w.rejects_kg, 0)) filter (
        where w.state = 'counted' and w.rejects_taken = 'before_weighing'), 0)
        as decimal(14, 3)) as sorted_before_kg,
    cast(coalesce(sum(coalesce(w.floaters_kg, 0) + coalesce(w.rejects_kg, 0)) filter (
        where w.state = 'counted' and w.rejects_taken = 'after_weighing'
            and w.rejects_treatment = 'returned'), 0) as decimal(14, 3)) as returned_kg,
    cast(coalesce(sum(coalesce(w.floaters_kg, 0) + coalesce(w.rejects_kg, 0)) filter (
        where w.state = 'counted' and w.rejects_treatment = 'second_grade'), 0)
        as decimal(14, 3)) as second_grade_kg,
    cast(coalesce(sum(v.value_minor) filter (where w.state = 'counted'), 0) as bigint)
        as value_minor
from weighings as w
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.station = $station and w.day = $day and w.state in ('counted', 'held', 'sent_back')
group by w.species, w.form, w.grade
order by w.species, w.form, w.grade
