-- Grain: takes away the values of weighings that are touched, and of those that are no longer live.
delete from valued
using (select distinct sheet_no, row_no from touched where kind = 'weighings') as t
where t.sheet_no = valued.sheet_no and t.row_no = valued.row_no;
