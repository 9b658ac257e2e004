-- Grain: one row per member and species whose yield is far from that of its peers, at the plot with the most
-- bearing trees: green coffee a tree beside the members of the same zone and species who brought any, and its modified z-score
-- on the logarithm. `stumped`: a plot was stumped within two years, so that little is no surprise.
with latest as (
    select
        member_no, plot_no,
        max({
            'day': counted_on, 'place': place_of(sheet_no, row_no), 'species': species, 'trees': trees_bearing
        }) as counted,
        max_by(stumped_year >= year(counted_on) - 2, (counted_on, sheet_no, row_no)) as stumped
    from plots
    where state = 'counted' and counted_on is not null and species is not null
        and trees_bearing is not null
    group by member_no, plot_no
),
largest as (
    select
        member_no, counted.species, max_by(counted.place, (counted.trees, plot_no)) as place,
        coalesce(bool_or(stumped), false) as stumped
    from latest
    group by member_no, counted.species
),
value as (
    select member_no, species, cast(sum(value_minor) as bigint) as value_minor
    from member_coffee
    group by member_no, species
),
grown as (
    select
        y.member_no, y.species, y.trees_bearing, y.gbe_kg, y.gbe_per_tree_kg, v.value_minor,
        coalesce(st.station, '') as home, coalesce(st.zone, m.station) as zone, p.place, p.stumped,
        cast(ln(y.gbe_per_tree_kg) as decimal(18, 6)) as ln_kg
    from member_yield as y
    inner join largest as p on p.member_no = y.member_no and p.species = y.species
    inner join known_members as m on m.member_no = y.member_no
    inner join value as v on v.member_no = y.member_no and v.species = y.species
    left join stations as st on st.station = m.station
    where y.gbe_per_tree_kg > 0
),
peers as (
    select
        zone, species, count(*) as peers, median(ln_kg) as middle_ln, mad(ln_kg) as mad_ln,
        cast(median(gbe_per_tree_kg) as decimal(14, 3)) as middle_per_tree_kg
    from grown
    group by zone, species
)
select
    sheet_of(g.place) as sheet_no, row_of(g.place) as row_no, g.trees_bearing as trees_bearing_all, g.gbe_kg,
    g.gbe_per_tree_kg, g.zone, g.species, g.stumped, p.peers, p.middle_per_tree_kg,
    cast(modified_z(g.ln_kg, p.middle_ln, p.mad_ln) as decimal(14, 2)) as score,
    l.peers_score, l.peers_times, l.yield_per_tree_usual, l.yield_per_tree_high,
    (select taken_day from last_taken) >= d.last_day - 13 as season_over,
    cast(abs(g.gbe_kg - cast(p.middle_per_tree_kg * g.trees_bearing as decimal(14, 3)))
        as decimal(14, 3)) as kg_at_stake,
    cast(case when g.gbe_per_tree_kg > p.middle_per_tree_kg then div_half_away(
        cast(g.value_minor as hugeint)
        * grams(cast(g.gbe_per_tree_kg - p.middle_per_tree_kg as decimal(14, 3))),
        cast(grams(g.gbe_per_tree_kg) as hugeint)
    ) end as bigint) as minor_at_stake
from grown as g
cross join season_days as d
inner join peers as p on p.zone = g.zone and p.species = g.species
inner join limits_here as l on l.station = g.home and l.species = g.species and l.form = ''
where p.peers >= l.peers_least
    -- The rules ask for more; this is quickly told.
    and (abs(score) > l.peers_score or g.gbe_per_tree_kg > l.peers_times * p.middle_per_tree_kg)
