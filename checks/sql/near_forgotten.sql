-- Grain: takes away the flags of some rules ($codes) on a kind ($kind) that are near to the rows that changed.
delete from flags
where kind = $kind and list_contains($codes, rule) and (
    (sheet_no, row_no) in (select (sheet_no, row_no) from near_places)
    or ($by_sheet and sheet_no in (select sheet_no from near_places))
);
