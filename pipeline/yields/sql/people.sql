-- Grain: one row per member of the register and species with trees or coffee; a member with neither has one
-- row with species ''. Where the member belongs, what the trees bore, and the season's money, minor units;
-- margin figures repeat on each row of a member, first tells the one to take them from.
with latest as (
    select member_no, village, station, household
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
),
certified as (
    select member_no, max_by(certificate, (kg, certificate)) as certificate
    from (
        select member_no, coalesce(certificate, '') as certificate, sum(net_kg) as kg
        from weighings
        where state = 'counted'
        group by member_no, coalesce(certificate, '')
    )
    group by member_no
),
grown as (
    select
        coalesce(y.member_no, c.member_no) as member_no,
        coalesce(y.species, c.species) as species,
        y.trees_bearing, y.area_ha,
        coalesce(c.gbe_kg, 0) as gbe_kg,
        c.priced_minor, c.best_minor
    from member_yield as y
    full join (
        select
            member_no, species, cast(sum(gbe_kg) as decimal(14, 3)) as gbe_kg,
            cast(sum(priced_minor) as bigint) as priced_minor, cast(sum(best_minor) as bigint) as best_minor
        from member_coffee
        group by member_no, species
    ) as c on c.member_no = y.member_no and c.species = y.species
),
-- Coffee that the blocks of a species cannot have borne gives no yield.
unborne as (
    select member_no, species, any_value(held) as held
    from block_yield
    where held in ('no-plots', 'none-bearing', 'too-young') and gbe_kg > 0
    group by member_no, species
),
sized as (
    select member_no, sum(area_ha) as all_ha from member_yield group by member_no
)
select
    l.member_no, l.village, l.station, coalesce(t.certificate, '') as certificate,
    coalesce(g.species, '') as species,
    case
        when coalesce(z.all_ha, 0) = 0 then ''
        when z.all_ha < 0.5 then 'under 0.5'
        when z.all_ha < 1 then '0.5 to 1'
        when z.all_ha < 2 then '1 to 2'
        else '2 and more'
    end as size_class,
    row_number() over (
        partition by l.member_no order by g.gbe_kg desc nulls last, g.species
    ) = 1 as first,
    g.trees_bearing, g.area_ha, coalesce(g.gbe_kg, 0) as gbe_kg,
    case when u.held is null and g.trees_bearing > 0 and g.gbe_kg > 0
        then cast(round(cast(g.gbe_kg as double) / g.trees_bearing, 6) as double) end as per_tree_kg,
    case when u.held is null and g.area_ha > 0 and g.gbe_kg > 0
        then cast(round(cast(g.gbe_kg as double) / cast(g.area_ha as double), 6) as double) end as per_ha_kg,
    case when g.gbe_kg > 0 then u.held end as held,
    g.priced_minor, g.best_minor,
    m.value_minor, m.gbe_kg as all_kg, m.margin_minor, m.after_fixed_minor, m.variable_minor, m.fixed_minor,
    cast(m.cost_per_kg as double) as cost_per_kg, cast(m.price_per_kg as double) as price_per_kg,
    m.per_family_day_minor, m.family_days, m.held as margin_held
from latest as l
left join grown as g on g.member_no = l.member_no
left join certified as t on t.member_no = l.member_no
left join unborne as u on u.member_no = l.member_no and u.species = g.species
left join sized as z on z.member_no = l.member_no
left join member_margin as m on m.member_no = l.member_no
order by l.member_no, species
