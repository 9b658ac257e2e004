-- Grain: one row per species and form: kilograms of it for one of green coffee, and by what: the ICO's
-- factors, the stated limit for fresh cherry, or ($measured) the season's own lots, where at least
-- $least_g went into them and each gave what it may give. Parchment and dried cherry are measured as
-- they were hulled, fresh cherry through parchment brought to its standard moisture, or, where none
-- was washed, through dried cherry.
insert into green_basis
with fine as (
    select * from lot_steps where not waits and not opens and loss_g = 0 and gain_g = 0 and in_g > 0
),
hulled as (
    select species, form_before as form, sum(in_g) as in_g, sum(out_g) as out_g, count(*) as lots
    from fine
    where form_after = 'green' and form_before in ('parchment', 'dry_cherry')
    group by all
),
dried as (
    -- A lot that was neither mixed nor split between the cherry and the dry coffee.
    select
        f.species,
        d.form_after as form,
        f.in_g,
        grams(coalesce(
            kg_at_moisture(kg_from_grams(d.out_g), d.moisture_after, l.standard_moisture),
            kg_from_grams(d.out_g)
        )) as out_g
    from fine as f
    inner join fine as d
        on d.lot_no = f.lot_no and d.dries and d.form_after in ('parchment', 'dry_cherry')
        and (d.seq = f.seq or (d.seq = f.seq + 1 and d.in_g = f.out_g))
    inner join limits_here as l
        on l.species = d.species and l.form = d.form_after and l.station = ''
    where f.form_before = 'fresh_cherry' and f.form_after <> 'fresh_cherry'
),
from_cherry as (
    select species, form, sum(in_g) as in_g, sum(out_g) as out_g, count(*) as lots
    from dried
    group by all
),
enough as (
    select species, 'fresh_cherry' as form, form as becomes, in_g, out_g, lots from from_cherry
    where in_g >= $least_g and $measured
    union all
    select species, form, 'green', in_g, out_g, lots from hulled where in_g >= $least_g and $measured
),
ratio as (
    select
        species, form, becomes, lots, in_g,
        cast(cast(div_half_away(cast(in_g as hugeint) * 10000, cast(out_g as hugeint))
            as decimal(18, 0)) * 0.0001 as decimal(14, 4)) as per_next
    from enough
),
dry as (
    select
        l.species,
        l.form,
        case l.form when 'green' then 1 else coalesce(
            r.per_next, case l.form when 'parchment' then 1.25 else 2 end
        ) end as per_green,
        case
            when l.form = 'green' then 'green is green'
            when r.per_next is not null then 'measured in ' || r.lots || case r.lots when 1 then ' lot' else ' lots' end
            else 'ICO Rules on Statistics'
        end as basis,
        r.in_g
    from limits_here as l
    left join ratio as r on r.species = l.species and r.form = l.form and r.becomes = 'green'
    where l.station = '' and l.species <> '' and l.form in ('green', 'parchment', 'dry_cherry')
),
fresh as (
    select
        l.species,
        l.form,
        coalesce(
            cast(cast(div_half_away(
                cast(r.per_next * 10000 as bigint) * cast(d.per_green * 10000 as bigint),
                10000::bigint
            ) as decimal(18, 0)) * 0.0001 as decimal(14, 4)),
            l.cherry_per_green
        ) as per_green,
        case
            when r.per_next is null then 'a stated limit'
            else 'measured in ' || r.lots || case r.lots when 1 then ' lot to ' else ' lots to ' end || replace(r.becomes, '_', ' ')
                || ', then ' || d.basis
        end as basis,
        r.in_g
    from limits_here as l
    left join ratio as r
        on r.species = l.species and r.form = 'fresh_cherry'
        and r.becomes = (
            select max(x.becomes) from ratio as x
            where x.species = l.species and x.form = 'fresh_cherry'
        )
    left join dry as d on d.species = r.species and d.form = r.becomes
    where l.station = '' and l.species <> '' and l.form = 'fresh_cherry'
)
select
    species,
    form,
    cast(per_green as decimal(14, 4)),
    basis,
    kg_from_grams(cast(in_g as bigint)) as measured_kg
from (select * from dry union all select * from fresh)
order by species, form;
