-- Grain: one row per sheet of weighings, station and receipt book that it has rows of, and one per sheet, station
-- and day.
insert into weighed_sheets
select sheet_no, station, receipt_book, day
from rows_weighings
group by grouping sets ((sheet_no, station, receipt_book), (sheet_no, station, day))
order by all
