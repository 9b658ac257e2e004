-- Grain: one row per member, species and form delivered: counted weighings, and what the season had
-- brought before the book began.
insert into member_coffee
with delivered as (
    from earned_in
    union all by name
    select
        s.member_no, s.species, s.form, coalesce(s.receipts, 0) as deliveries, grams(s.net_kg) as net_g,
        grams(gbe_kg(s.net_kg, b.per_green)) as gbe_g, s.value_minor
    from season_so_far as s
    inner join green_basis as b on b.species = s.species and b.form = s.form
    where s.state = 'counted'
)
select
    member_no,
    species,
    form,
    cast(sum(deliveries) as bigint) as deliveries,
    kg_from_grams(cast(sum(net_g) as bigint)) as net_kg,
    kg_from_grams(cast(sum(gbe_g) as bigint)) as gbe_kg,
    cast(sum(value_minor) as bigint) as value_minor,
    cast(sum(priced_minor) as bigint) as priced_minor,
    cast(sum(best_minor) as bigint) as best_minor
from delivered
group by member_no, species, form
