-- Grain: one row per live row of the price list, beside the middle price of the same coffee, the rest
-- of its own list and the list before it.
create or replace temp view check_prices as
with middle as (
    select species, form, grade, median(cast(price_per_kg as decimal(18, 6))) as middle_price
    from live_prices
    where price_per_kg > 0
    group by species, form, grade
),
band as (
    select
        *,
        coalesce(station, '') as site,
        coalesce(moisture_above, 0) as low,
        coalesce(moisture_up_to, 100) as high
    from live_prices
    -- A price that is given again in a later sheet stands in its last one only.
    qualify row_number() over (
        partition by from_day, species, form, grade, coalesce(station, ''), moisture_above
        order by sheet_no desc, row_no
    ) = 1
),
-- The row of the same list that begins next below this one, and how far the list reached before it.
beside as (
    select
        sheet_no, row_no, low,
        max(high) over lower_ones as reached,
        count(*) over lower_ones as lower_rows
    from band
    window lower_ones as (
        partition by from_day, species, form, grade, site order by low, sheet_no, row_no
        rows between unbounded preceding and 1 preceding
    )
),
list as (
    select from_day, species, form, grade, site, max(until_day) as until_day
    from band
    group by from_day, species, form, grade, site
),
earlier as (
    select
        *,
        lag(until_day) over (partition by species, form, grade, site order by from_day) as ended
    from list
)
select
    r.*,
    cast(m.middle_price as decimal(14, 4)) as middle_price,
    st.name as station_name,
    b.low,
    b.reached,
    b.lower_rows,
    e.ended as ended_before,
    l.* exclude (species, form, station),
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from live_prices as r
left join beside as b on b.sheet_no = r.sheet_no and b.row_no = r.row_no
left join earlier as e
    on e.from_day = r.from_day and e.species = r.species and e.form = r.form and e.grade = r.grade
    and e.site = coalesce(r.station, '')
left join stations as st on st.station = r.station
left join middle as m on m.species = r.species and m.form = r.form and m.grade = r.grade
left join limits_here as l
    on l.species = coalesce(r.species, '') and l.form = coalesce(r.form, '') and l.station = '';
