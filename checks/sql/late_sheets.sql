-- Grain: one row per sheet that came in long after its last day, at its first row. Sheets that came in on
-- the book's first day are what it began with, and later versions are corrections: neither is late.
with sheet as (
    select
        c.sheet_no, min(c.row_no) as row_no, max(c.day) as latest_day,
        cast(sum(c.kg_at_stake) as decimal(14, 3)) as kg_at_stake,
        cast(sum(c.minor_at_stake) as bigint) as minor_at_stake
    from check_rows as c
    inner join sheets as s on s.sheet_no = c.sheet_no
    where s.version = 1 and not s.only_adds and s.taken_day > (select taken_day from first_taken)
        and c.day between c.first_day and c.last_day
    group by c.sheet_no
)
select
    c.* exclude (kg_at_stake, minor_at_stake),
    s.latest_day,
    cast(c.taken_day - s.latest_day as bigint) as days_after,
    s.kg_at_stake,
    s.minor_at_stake
from sheet as s
inner join check_rows as c on c.sheet_no = s.sheet_no and c.row_no = s.row_no
where c.taken_day - s.latest_day > c.late_days
