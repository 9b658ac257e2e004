-- Grain: one row per block (member and plot) of counted plots, its latest count; and one row with plot_no
-- '' per member and species whose coffee no block can have borne. The sheets name no block, so a member's
-- coffee of a species is shared over the blocks that bear, by bearing trees, in whole grams by largest
-- remainder: the blocks add up to the coffee.
insert into block_yield
with counts as (
    select *, moment_of(counted_on, sheet_no, row_no) as later
    from plots
    where state = 'counted' and member_no is not null and plot_no is not null and species is not null
),
latest as (
    select
        member_no, plot_no,
        max_by(species, later) as species,
        max_by(planted_year, later) as planted_year,
        max_by(pruned_year, later) as pruned_year,
        max_by(stumped_year, later) as stumped_year,
        max_by(trees, later) as trees,
        max_by(trees_bearing, later) as trees_bearing,
        max_by(gaps, later) as gaps,
        max_by(area_ha, later) as area_ha
    from counts
    group by member_no, plot_no
),
-- A pruning in the season's farm record is later than the one that the count of trees knew of.
pruned as (
    select member_no, plot_no, max(year(day)) as pruned_year
    from farm_record
    where state = 'counted' and activity = 'pruning' and plot_no is not null
    group by member_no, plot_no
),
known as (
    select
        l.member_no, l.plot_no, l.species, l.planted_year, l.trees, l.trees_bearing, l.gaps, l.area_ha,
        cast(nullif(greatest(coalesce(l.pruned_year, 0), coalesce(p.pruned_year, 0)), 0) as integer) as pruned_year,
        cast(l.stumped_year as integer) as stumped_year,
        cast(year(d.first_day) as integer) as this_year,
        cast(year(d.first_day) - l.planted_year as integer) as age,
        coalesce(st.station, '') as home
    from latest as l
    cross join season_days as d
    left join pruned as p on p.member_no = l.member_no and p.plot_no = l.plot_no
    left join known_members as m on m.member_no = l.member_no
    left join stations as st on st.station = m.station
),
block as (
    select
        k.member_no, k.plot_no, k.species, k.planted_year, k.age, k.trees, k.trees_bearing, k.gaps, k.area_ha,
        age_class(k.age) as age_class,
        wood_of(k.age, k.pruned_year, k.stumped_year, k.this_year) as wood,
        l.expected_per_ha_low, l.expected_per_ha_high,
        case
            when k.trees_bearing is null or k.trees_bearing <= 0 then 'none-bearing'
            when k.age < l.bearing_age then 'too-young'
        end as held
    from known as k
    left join limits_here as l on l.station = k.home and l.species = k.species and l.form = ''
),
coffee as (
    select member_no, species, cast(sum(grams(gbe_kg)) as bigint) as g
    from member_coffee
    group by member_no, species
),
land as (
    select member_no, species, cast(sum(trees_bearing) as bigint) as all_bearing, count(*) as blocks
    from block
    where held is null
    group by member_no, species
),
parted as (
    select
        b.member_no, b.plot_no, b.species, c.g, l.blocks,
        cast(cast(c.g as hugeint) * b.trees_bearing // l.all_bearing as bigint) as least_g,
        cast(cast(c.g as hugeint) * b.trees_bearing % l.all_bearing as bigint) as remainder
    from block as b
    inner join land as l on l.member_no = b.member_no and l.species = b.species
    inner join coffee as c on c.member_no = b.member_no and c.species = b.species
    where b.held is null
),
share as (
    select member_no, plot_no, blocks, g
    from parted
    where blocks = 1
    union all
    select
        member_no, plot_no, blocks,
        least_g + case
            when row_number() over (partition by member_no, species order by remainder desc, plot_no)
                <= g - sum(least_g) over (partition by member_no, species)
                then 1 else 0
        end as g
    from parted
    where blocks > 1
),
lost as (
    select
        c.member_no, c.species, c.g,
        coalesce((
            select case when bool_or(b.held = 'too-young') then 'too-young' else 'none-bearing' end
            from block as b
            where b.member_no = c.member_no and b.species = c.species
            having count(*) > 0
        ), 'no-plots') as held
    from coffee as c
    where c.g <> 0 and not exists (
        select 1 from block as b where b.member_no = c.member_no and b.species = c.species and b.held is null
    )
)
select
    b.member_no, b.plot_no, b.species, b.planted_year, b.age, b.age_class, b.wood,
    b.trees, b.trees_bearing, b.gaps, b.area_ha,
    kg_from_grams(coalesce(s.g, 0)::bigint) as gbe_kg,
    coalesce(s.blocks, 0) > 1 as shared,
    case when s.g > 0 then kg_from_grams(div_half_away(s.g::bigint, b.trees_bearing)) end as per_tree_kg,
    case when s.g > 0 and b.area_ha > 0 then cast(div_half_away(
        cast(s.g as hugeint) * 100, cast(b.area_ha * 10000 as bigint)::hugeint
    ) * 0.1 as decimal(14, 1)) end as per_ha_kg,
    expected_per_tree_kg(b.expected_per_ha_low, b.area_ha, b.trees, b.age, b.wood) as expected_low_kg,
    expected_per_tree_kg(b.expected_per_ha_high, b.area_ha, b.trees, b.age, b.wood) as expected_high_kg,
    case when b.held is not null then b.held when coalesce(s.g, 0) = 0 then 'no-coffee' end as held
from block as b
left join share as s on s.member_no = b.member_no and s.plot_no = b.plot_no
union all
select
    member_no, '', species, null, null, 'not known', 'not known', null, null, null, null,
    kg_from_grams(g), false, null, null, null, null, held
from lost
order by 1, 2, 3
