-- Grain: one row per sheet of weighings that has rows of the books in `near_book_keys`.
create or replace temp table near_sheets as
select distinct s.sheet_no
from weighed_sheets as s
inner join near_book_keys as k on k.station = s.station and k.receipt_book = s.receipt_book
