-- Grain: one row per picked weighing, beside its price and value: of all weighings these would be joined in vain.
create or replace temp view few_weighings as
select
    r.*,
    v.price_per_kg,
    coalesce(v.needs_moisture, false) as needs_moisture,
    v.value_minor as minor_at_stake
from bare_weighings as r
left join (from valued semi join picked using (sheet_no, row_no)) as v
    on v.sheet_no = r.sheet_no and v.row_no = r.row_no;
