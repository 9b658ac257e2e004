-- Grain: leaves of what some rules ($codes) found only what is near to the rows that changed; by whole sheets
-- where $by_sheet, since some findings stand on a sheet's heading.
delete from found
where list_contains($codes, rule) and not (
    (sheet_no, row_no) in (select (sheet_no, row_no) from near_places)
    or ($by_sheet and sheet_no in (select sheet_no from near_places))
);
