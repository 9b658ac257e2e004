-- Grain: one row per row of a kind ($kind) that changed. What is gone from a later version counts by what else is found
-- about it.
create or replace temp table near_touched as
select sheet_no, row_no from touched where kind = $kind
union
select sheet_no, row_no from succession where kind = $kind and by_row_no is null
