-- Grain: one row per sheet whose rows in the file, by state, are not the rows that arrived. $sheets: those
-- that are looked at, null for all.
select sheet_no, name, arrived, in_states
from sheet_states
where arrived <> in_states and ($sheets is null or list_contains(cast($sheets as integer[]), sheet_no))
order by sheet_no
