-- Grain: one row: rows of the sheets that are touched, whether a sheet is gone, rows of all sheets, and how
-- many sheets there were when the season was last worked out.
select
    (
        select cast(coalesce(sum(s.arrived), 0) as bigint)
        from sheets as s
        inner join sheets_touched as t on t.sheet_no = s.sheet_no
    ) as come,
    exists (select 1 from seen_sheets anti join sheets using (sheet_no)) as gone,
    (select cast(coalesce(sum(arrived), 0) as bigint) from sheets) as arrived,
    (select count(*) from seen_sheets) as seen
