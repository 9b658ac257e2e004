-- Grain: one row per sheet that is a later version of another and whose name holds $name.
select sheet_no, name, kind, version
from sheets
where version > 1 and kind is not null and contains(name, $name)
order by sheet_no
