-- Grain: one row per member and day whose rows add up to more days of work, family and hired, than fit
-- into it by the lowest limit there is; at the first of them. `most_days`: of the row with most.
with worked as (
    select
        c.member_no, c.day, count(*) as rows_of_day, min(place_of(c.sheet_no, c.row_no)) as place,
        cast(sum(coalesce(c.family_days, 0) + coalesce(c.hired_days, 0)) as decimal(14, 1)) as worked_days,
        max(coalesce(c.family_days, 0) + coalesce(c.hired_days, 0)) as most_days
    from live_rows as c
    where c.member_no is not null and c.day is not null
    group by c.member_no, c.day
    having count(*) > 1 and worked_days > (select min(labour_days_high) from limits_here)
)
select sheet_of(place) as sheet_no, row_of(place) as row_no, rows_of_day, worked_days, most_days
from worked
