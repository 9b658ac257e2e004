-- Grain: one row per member and day whose rows add up to more days of work, family and hired, than fit
-- into it, though no one row does; at the first of them.
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
select c.*, w.rows_of_day, w.worked_days
from check_rows as c
inner join worked as w on c.sheet_no = sheet_of(w.place) and c.row_no = row_of(w.place)
where w.worked_days > c.labour_days_high and w.most_days <= c.labour_days_high
