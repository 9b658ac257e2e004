-- Grain: one row per sheet that came in long after its last day, at its first row. Sheets that came in on
-- the book's first day are what it began with, and later versions are corrections: neither is late.
with weighed as (
    select c.sheet_no, c.row_no, c.day, c.net_kg
    from live_rows as c
    inner join sheets as s on s.sheet_no = c.sheet_no
    cross join season_days as d
    where s.version = 1 and not s.only_adds and s.taken_day > (select taken_day from first_taken)
        and c.day between d.first_day and d.last_day
),
sheet as (
    select
        sheet_no, min(row_no) as row_no, max(day) as latest_day,
        cast(sum(net_kg) as decimal(14, 3)) as kg_at_stake
    from weighed
    group by sheet_no
),
late as (
    select
        s.sheet_no, s.row_no, s.latest_day, cast(c.taken_day - s.latest_day as bigint) as days_after,
        s.kg_at_stake
    from sheet as s
    inner join check_rows as c on c.sheet_no = s.sheet_no and c.row_no = s.row_no
    where c.taken_day - s.latest_day > c.late_days
),
worth as (
    select w.sheet_no, cast(sum(v.value_minor) as bigint) as minor_at_stake
    from weighed as w
    inner join (select sheet_no from late) using (sheet_no)
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    group by w.sheet_no
)
select l.*, w.minor_at_stake
from late as l
left join worth as w on w.sheet_no = l.sheet_no
