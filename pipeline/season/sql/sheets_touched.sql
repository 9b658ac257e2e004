-- Grain: one row per sheet that came in since the season was last worked out, and per version of the same
-- sheet before it, whose rows it may replace.
create or replace temp table sheets_touched as
with come as (
    select s.sheet_no, s.slot, s.version
    from sheets as s
    anti join seen_sheets as e on e.sheet_no = s.sheet_no
),
filled as (
    select f.of_sheet_no as sheet_no
    from fills as f
    inner join come as c on c.sheet_no = f.sheet_no
)
select s.kind, s.sheet_no
from sheets as s
where s.kind is not null and (
    s.sheet_no in (select sheet_no from come)
    or s.slot in (select slot from come where version > 1)
    or s.sheet_no in (select sheet_no from filled where sheet_no is not null)
);
