-- Grain: one row per weighing of some days that counts or waits: what its member is told of it.
-- `receipt` is the book, receipt and line as printed; money in minor units.
select
    w.member_no, w.day, w.station, w.species, w.form, w.net_kg, w.state, v.price_per_kg, v.value_minor,
    concat_ws(' ', w.receipt_book, w.receipt_no) || coalesce('/' || w.line, '') as receipt
from weighings as w
left join valued as v using (sheet_no, row_no)
where w.day between $first and $last and w.state in ('counted', 'held')
order by w.member_no, w.day, w.station, w.receipt_book, w.receipt_no, w.line, w.sheet_no, w.row_no
