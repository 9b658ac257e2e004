-- Grain: one row per flag of the rules in `near_rules` on a kind ($kind) that is near to the rows that changed.
create or replace temp table near_flags as
select f.rowid as id, f.row_key
from flags as f
inner join near_rules as r on r.rule = f.rule
where f.kind = $kind and (
    (r.hang, f.sheet_no, f.row_no) in (select (hang, sheet_no, row_no) from near_places)
    or (r.hang = 'sheet' and f.sheet_no in (select sheet_no from near_places where hang = 'sheet'))
)
