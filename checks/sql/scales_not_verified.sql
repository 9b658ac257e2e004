-- Grain: one row per scale, at its first weighing later than its verification holds.
with late as (
    select
        c.scale,
        min(place_of(c.sheet_no, c.row_no)) as first_place,
        count(*) as rows_weighed,
        min(sc.verified) as verified
    from check_rows as c
    inner join scales as sc on sc.scale = c.scale
    where c.day between c.first_day and c.last_day
        and (sc.verified is null or c.day > sc.verified + cast(c.verified_days as integer))
    group by c.scale
)
select
    sheet_of(first_place) as sheet_no,
    row_of(first_place) as row_no,
    coalesce(cast(verified as varchar), 'never') as verified,
    rows_weighed,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from late
