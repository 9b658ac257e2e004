-- Grain: one row per run of sheets of weighings, in their order, with some $most rows together: the numbers of its first
-- and last sheet. One run of all where $most is null.
select min(sheet_no) as first_no, max(sheet_no) as last_no
from (
    select sheet_no, (sum(arrived) over (order by sheet_no) - arrived) // cast($most as bigint) as run
    from sheets
    where kind = 'weighings'
)
group by run
order by run
