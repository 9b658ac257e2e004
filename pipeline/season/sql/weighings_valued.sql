-- Grain: one row per weighing that names a member, with what it was worth; null where it was not valued.
create view weighings_valued as
select
    w.member_no, w.day, w.sheet_no, w.row_no, w.species, w.form, w.gross_kg, w.tare_kg, w.net_kg, w.moisture_pct,
    w.state, v.paid_kg, v.price_per_kg, v.value_minor, v.gbe_kg, v.price_sheet_no, v.price_row_no
from weighings as w
left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.member_no is not null;
