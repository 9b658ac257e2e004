-- Grain: one row per member's record without a partner that names a receipt, of a day up to which its station has
-- weighings. Of other stations' days nothing can be missed yet.
create or replace temp table match_due as
select u.sheet_no, u.row_no
from unmatched as u
inner join (
    -- Of counted and held weighings: a row that was sent back may have its day wrong.
    select station, max(day) as day from coffee_days group by station
) as w on w.station = u.station and w.day >= u.day
where u.side = 'record' and u.receipt_book is not null and u.receipt_no is not null
