-- Grain: one row per live weighing: its price, the weight that is paid, its value and
-- its green bean equivalent. The list in force is the latest for its coffee from on or before its day,
-- the station's own before the one for all; within the list its moisture picks the row. No price, no value.
insert into valued
with price as (
    select
        from_day, until_day, species, form, grade, coalesce(station, '') as station, price_per_kg,
        standard_moisture_pct, sheet_no, row_no,
        moisture_above is not null or moisture_up_to is not null or standard_moisture_pct is not null
            as by_moisture,
        coalesce(moisture_above, -1) as low,
        -- Where a decision lets two bands overlap, the upper one holds from its beginning on.
        least(
            coalesce(moisture_up_to, 999),
            coalesce(lead(moisture_above) over (
                partition by from_day, species, form, grade, coalesce(station, '')
                order by coalesce(moisture_above, -1), sheet_no, row_no
            ), 999)
        ) as high
    from prices
    where state = 'counted'
),
list as (
    select species, form, grade, station, from_day, max(until_day) as until_day
    from price
    group by species, form, grade, station, from_day
),
coffee as not materialized (
    select
        w.sheet_no, w.row_no, w.day, w.species, w.form, w.grade, w.net_kg, w.moisture_pct,
        case when w.station in (select station from list) then w.station else '' end as station
    from live_weighings as w
),
-- Few coffees and days: each is numbered and looked up once, not for every weighing.
asked as (
    select
        c.*, b.per_green, row_number() over () as n
    from (select distinct species, form, grade, station, day from coffee) as c
    left join green_basis as b on b.species = c.species and b.form = c.form
),
own as (
    select
        a.n, a.species, a.form, a.grade, a.station, a.day,
        case when l.until_day is null or a.day <= l.until_day then l.from_day end as own_day
    from asked as a
    asof left join (select * from list where station <> '') as l
        on l.species = a.species and l.form = a.form and l.grade = a.grade
        and l.station = a.station and l.from_day <= a.day
),
listed as (
    select
        o.n, o.species, o.form, o.grade,
        case when o.own_day is null then '' else o.station end as list_station,
        case
            when o.own_day is not null then o.own_day
            when l.until_day is null or o.day <= l.until_day then l.from_day
        end as list_day
    from own as o
    asof left join (select * from list where station = '') as l
        on l.species = o.species and l.form = o.form and l.grade = o.grade and l.from_day <= o.day
),
offered as (
    select
        l.n, p.low, p.high, p.price_per_kg, p.by_moisture,
        p.standard_moisture_pct, p.sheet_no as price_sheet_no, p.row_no as price_row_no
    from listed as l
    inner join price as p
        on p.species = l.species and p.form = l.form and p.grade = l.grade
        and p.station = l.list_station and p.from_day = l.list_day
),
priced as (
    select
        c.sheet_no, c.row_no, a.per_green, c.net_kg, p.price_sheet_no, p.price_row_no,
        p.price_per_kg,
        coalesce(p.by_moisture and c.moisture_pct is null, false) as needs_moisture,
        case
            when p.standard_moisture_pct is null then c.net_kg
            else kg_at_moisture(c.net_kg, c.moisture_pct, p.standard_moisture_pct)
        end as paid_kg
    from coffee as c
    left join asked as a
        on a.species is not distinct from c.species and a.form is not distinct from c.form
        and a.grade is not distinct from c.grade and a.station = c.station
        and a.day is not distinct from c.day
    left join offered as p
        on p.n = a.n
        and coalesce(c.moisture_pct, 0) > p.low and coalesce(c.moisture_pct, 0) <= p.high
)
select
    p.sheet_no,
    p.row_no,
    case when not p.needs_moisture then p.price_per_kg end as price_per_kg,
    case when not p.needs_moisture then p.price_sheet_no end as price_sheet_no,
    case when not p.needs_moisture then p.price_row_no end as price_row_no,
    case when not p.needs_moisture and p.price_per_kg is not null then p.paid_kg end as paid_kg,
    case when not p.needs_moisture then value_minor(p.paid_kg, p.price_per_kg, $decimals) end
        as value_minor,
    gbe_kg(p.net_kg, p.per_green) as gbe_kg,
    p.needs_moisture
from priced as p
