-- Grain: takes away the values of weighings that are touched, and of those that are no longer live.
delete from valued
where (sheet_no, row_no) in (select (sheet_no, row_no) from touched where kind = 'weighings');
