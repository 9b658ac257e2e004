-- Grain: one row: what became of the rows of all sheets taken between two days.
select
    count(*) as sheets,
    cast(coalesce(sum(arrived), 0) as bigint) as arrived,
    cast(coalesce(sum(counted), 0) as bigint) as counted,
    cast(coalesce(sum(held), 0) as bigint) as held,
    cast(coalesce(sum(sent_back), 0) as bigint) as sent_back,
    cast(coalesce(sum(replaced), 0) as bigint) as replaced,
    cast(coalesce(sum(left_out), 0) as bigint) as left_out
from sheet_states
where sheet_no in (select sheet_no from sheets where taken_day between $first_day and $last_day)
