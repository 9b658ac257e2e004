-- Grain: one row per counted weighing and premium or discount that it has: on the weight paid, or by
-- percent of its value; rounded once.
insert into movements
with due as (
    select
        w.day, w.member_no, w.sheet_no, w.row_no, p.position, p.premium, p.discount,
        coalesce(
            percent_minor(v.value_minor, p.percent), per_kg_minor(v.paid_kg, p.per_kg, $decimals)
        ) as amount_minor
    from money_weighings as w
    inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    inner join premiums as p
        on (p.species is null or p.species = w.species)
        and (p.form is null or p.form = w.form)
        and (p.grade is null or p.grade = w.grade)
        and (p.station is null or p.station = w.station)
        and (p.certificate is null or p.certificate = w.certificate)
        and (p.from_day is null or p.from_day <= w.day)
        and (p.until_day is null or p.until_day >= w.day)
        and (p.ripe_from is null or w.ripe_pct >= p.ripe_from)
        and (p.moisture_above is null or w.moisture_pct > p.moisture_above)
    where v.value_minor is not null
)
select
    day, 'premium',
    case when discount then 'member' else 'premium:' || premium end,
    case when discount then 'premium:' || premium else 'member' end,
    member_no, amount_minor, 'weighings', sheet_no, row_no
from due
where amount_minor <> 0
