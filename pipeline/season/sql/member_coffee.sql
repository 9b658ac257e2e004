-- Grain: one row per member, species and form delivered: counted weighings, and what the season had
-- brought before the book began.
insert into member_coffee
with delivered as (
    select
        member_no, species, form, 1 as deliveries, net_kg, gbe_kg, value_minor, best_minor
    from earned
    union all
    select
        s.member_no, s.species, s.form, coalesce(s.receipts, 0), s.net_kg,
        gbe_kg(s.net_kg, b.per_green), s.value_minor, null
    from season_so_far as s
    inner join green_basis as b on b.species = s.species and b.form = s.form
    where s.state = 'counted'
)
select
    member_no,
    species,
    form,
    cast(sum(deliveries) as bigint) as deliveries,
    kg_from_grams(cast(sum(grams(net_kg)) as bigint)) as net_kg,
    kg_from_grams(cast(sum(grams(gbe_kg)) as bigint)) as gbe_kg,
    cast(sum(value_minor) as bigint) as value_minor,
    cast(sum(value_minor) filter (best_minor is not null) as bigint) as priced_minor,
    cast(sum(best_minor) as bigint) as best_minor
from delivered
group by member_no, species, form
