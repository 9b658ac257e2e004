-- Grain: one row: value of coffee of a species ($one), form ($two) and grade ($three), all members, minor units.
select cast(sum(v.value_minor) as bigint) as value
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted' and w.species = $one and w.form = $two and w.grade = $three
having sum(v.value_minor) is not null
