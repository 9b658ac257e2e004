-- Grain: one row per station whose coffee came out heavier than what was bought can give, less what was
-- lost unexplained, at its first counted weighing.
with moved as (
    select
        station,
        cast(sum(case when what = 'gain' then grams when what = 'loss' then grams else 0 end) as bigint)
            as gain_g,
        cast(sum(case when what = 'bought' then grams else 0 end) as bigint) as bought_g
    from coffee_moves
    group by station
),
gained as (
    select m.station, m.gain_g, m.bought_g, l.station_gain
    from moved as m
    inner join limits_here as l on l.station = m.station and l.species = '' and l.form = ''
    where m.gain_g * 100 > l.station_gain * m.bought_g
),
bought as (
    select
        w.station, min(place_of(w.sheet_no, w.row_no)) as place,
        cast(sum(v.value_minor) as bigint) as value_minor
    from weighings as w
    left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    where w.state = 'counted' and w.station in (select station from gained)
    group by w.station
)
select
    sheet_of(b.place) as sheet_no, row_of(b.place) as row_no, m.station, m.station_gain,
    kg_from_grams(m.gain_g) as gain_kg,
    kg_from_grams(m.bought_g) as bought_kg,
    kg_from_grams(m.gain_g) as kg_at_stake,
    cast(div_half_away(
        cast(b.value_minor as hugeint) * m.gain_g, cast(m.bought_g as hugeint)
    ) as bigint) as minor_at_stake
from gained as m
inner join bought as b on b.station = m.station
