-- Grain: one row per member, species and form delivered: counted weighings, and what the season had
-- brought before the book began.
insert into member_coffee
with delivered as (
    select
        member_no, species, form, 1 as deliveries, net_kg, gbe_kg, value_minor
    from earned
    union all
    select
        s.member_no, s.species, s.form, coalesce(s.receipts, 0), s.net_kg,
        gbe_kg(s.net_kg, b.per_green), s.value_minor
    from season_so_far as s
    inner join green_basis as b on b.species = s.species and b.form = s.form
    where s.state = 'counted' and s.member_no in (select member_no from money_members)
)
select
    member_no,
    species,
    form,
    cast(sum(deliveries) as bigint) as deliveries,
    cast(sum(net_kg) as decimal(14, 3)) as net_kg,
    cast(sum(gbe_kg) as decimal(14, 3)) as gbe_kg,
    cast(sum(value_minor) as bigint) as value_minor
from delivered
group by member_no, species, form
