-- Grain: one row per member and species whose yield is far from that of its peers, at the plot with the most
-- bearing trees: green coffee a tree beside the members of the same zone and species who brought any, and its modified z-score
-- on the logarithm. `stumped`: a plot was stumped within two years, so that little is no surprise.
with grown as (
    select
        y.member_no, y.species, y.trees_bearing, y.gbe_kg, y.gbe_per_tree_kg,
        coalesce(st.station, '') as home, coalesce(st.zone, m.station) as zone,
        cast(ln(y.gbe_per_tree_kg) as decimal(18, 6)) as ln_kg
    from member_yield as y
    inner join known_members as m on m.member_no = y.member_no
    left join stations as st on st.station = m.station
    where y.gbe_per_tree_kg > 0
),
peers as (
    select
        zone, species, count(*) as peers, median(ln_kg) as middle_ln, mad(ln_kg) as mad_ln,
        cast(median(gbe_per_tree_kg) as decimal(14, 3)) as middle_per_tree_kg
    from grown
    group by zone, species
),
far as (
    select
        g.*, p.peers, p.middle_per_tree_kg,
        cast(modified_z(g.ln_kg, p.middle_ln, p.mad_ln) as decimal(14, 2)) as score,
        l.peers_score, l.peers_times, l.yield_per_tree_usual, l.yield_per_tree_high
    from grown as g
    inner join peers as p on p.zone = g.zone and p.species = g.species
    inner join limits_here as l on l.station = g.home and l.species = g.species and l.form = ''
    where p.peers >= l.peers_least
        -- The rules ask for more; this is quickly told.
        and (abs(score) > l.peers_score or g.gbe_per_tree_kg > l.peers_times * p.middle_per_tree_kg)
),
-- Few are: only their plots and coffee are looked at.
latest as (
    select
        p.member_no, p.plot_no,
        max({
            'day': p.counted_on, 'place': place_of(p.sheet_no, p.row_no), 'species': p.species,
            'trees': p.trees_bearing
        }) as counted,
        max_by(p.stumped_year >= year(p.counted_on) - 2, (p.counted_on, p.sheet_no, p.row_no)) as stumped
    from plots as p
    inner join (select distinct member_no from far) as f on f.member_no = p.member_no
    where p.state = 'counted' and p.counted_on is not null and p.species is not null
        and p.trees_bearing is not null
    group by p.member_no, p.plot_no
),
largest as (
    select
        member_no, counted.species, max_by(counted.place, (counted.trees, plot_no)) as place,
        coalesce(bool_or(stumped), false) as stumped
    from latest
    group by member_no, counted.species
),
value as (
    select c.member_no, c.species, cast(sum(c.value_minor) as bigint) as value_minor
    from member_coffee as c
    inner join (select distinct member_no from far) as f on f.member_no = c.member_no
    group by c.member_no, c.species
)
select
    sheet_of(p.place) as sheet_no, row_of(p.place) as row_no, g.trees_bearing as trees_bearing_all, g.gbe_kg,
    g.gbe_per_tree_kg, g.zone, g.species, p.stumped, g.peers, g.middle_per_tree_kg,
    g.score, g.peers_score, g.peers_times, g.yield_per_tree_usual, g.yield_per_tree_high,
    (select taken_day from last_taken) >= d.last_day - 13 as season_over,
    cast(abs(g.gbe_kg - cast(g.middle_per_tree_kg * g.trees_bearing as decimal(14, 3)))
        as decimal(14, 3)) as kg_at_stake,
    cast(case when g.gbe_per_tree_kg > g.middle_per_tree_kg then div_half_away(
        cast(v.value_minor as hugeint)
        * grams(cast(g.gbe_per_tree_kg - g.middle_per_tree_kg as decimal(14, 3))),
        cast(grams(g.gbe_per_tree_kg) as hugeint)
    ) end as bigint) as minor_at_stake
from far as g
cross join season_days as d
inner join largest as p on p.member_no = g.member_no and p.species = g.species
inner join value as v on v.member_no = g.member_no and v.species = g.species
