-- Grain: one row per delivery of a species ($one), form ($two) and grade ($three): its value, minor units.
select
    'weighings' as kind, w.sheet_no, w.row_no, 'net_kg' as col, v.value_minor as amount,
    [['member_times', 't' || w.member_no, 'n' || v.paid_kg, 'n' || v.price_per_kg]] as says,
    v.price_sheet_no, v.price_row_no
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted' and w.species = $one and w.form = $two and w.grade = $three
    and v.value_minor is not null
order by w.sheet_no, w.row_no
