-- Grain: one row per sheet whose rows in the file, by state, are not the rows that arrived.
select sheet_no, name, arrived, in_states
from sheet_states
where arrived <> in_states
order by sheet_no
