-- Grain: one row per weight (weighings, or members' records) far outside what the same member brought of
-- the same coffee at other times, that would lie within it if one likely slip were undone.
-- `times`: by what the weight was multiplied; of several slips the one nearest the middle weight.
with weight as (
    select
        sheet_no, row_no, member_no, species, form,
        columns(lambda c: c in ('net_kg', 'kg')) as weight_kg
    from live_rows
),
past as (
    select
        member_no, species, form, count(*) as weights,
        cast(median(weight_kg) as decimal(14, 3)) as middle_kg,
        min(weight_kg, 2) as least, max(weight_kg, 2) as most,
        median(ln(weight_kg)) as middle_ln, mad(ln(weight_kg)) as mad_ln
    from weight
    where weight_kg > 0
    group by member_no, species, form
),
far as (
    select
        w.*, p.weights - 1 as others, p.middle_kg, p.middle_ln,
        case when w.weight_kg = p.least[1] then p.least[2] else p.least[1] end as least_kg,
        case when w.weight_kg = p.most[1] then p.most[2] else p.most[1] end as most_kg
    from weight as w
    inner join past as p
        on p.member_no = w.member_no and p.species = w.species and p.form = w.form
    inner join limits_here as l on l.station = '' and l.species = w.species and l.form = w.form
    where p.weights > l.slip_rows and w.weight_kg > 0
        -- Few weights, or steady ones, give a deviation too small to go by: 15 % at least.
        and abs(ln(w.weight_kg) - p.middle_ln)
            > l.peers_score * 1.4826 * greatest(p.mad_ln, 0.10)
),
slip as (
    select
        f.*, s.slip, s.times,
        kg_from_grams(div_half_away(grams(f.weight_kg) * 10000, cast(s.times * 10000 as bigint)))
            as corrected_kg
    from far as f
    cross join (
        values
            ('point', 10.0000), ('point', 100.0000), ('point', 1000.0000), ('point', 0.1000),
            ('point', 0.0100), ('point', 0.0010), ('pounds', 2.2046), ('pounds', 0.4536),
            ('form', 3.0000), ('form', 0.3333), ('form', 5.0000), ('form', 0.2000)
    ) as s (slip, times)
    where f.weight_kg * 2 > f.most_kg * 3 or f.weight_kg * 3 < f.least_kg * 2
),
best as (
    select
        sheet_no, row_no,
        min_by(s, (abs(ln(corrected_kg) - middle_ln), times)) as s
    from slip as s
    where corrected_kg between least_kg and most_kg
    group by sheet_no, row_no
)
select
    c.* exclude (kg_at_stake, minor_at_stake),
    k.kind = 'weighings' as paid,
    case when k.kind = 'weighings' then 'net_kg' else 'kg' end as col,
    cast(b.s.weight_kg as varchar) as value,
    b.s.slip,
    b.s.times,
    b.s.weight_kg,
    b.s.others,
    b.s.middle_kg,
    b.s.corrected_kg,
    cast(abs(b.s.weight_kg - b.s.corrected_kg) as decimal(14, 3)) as kg_at_stake,
    case when k.kind = 'weighings' then cast(div_half_away(
        cast(c.minor_at_stake as hugeint) * abs(grams(b.s.weight_kg) - grams(b.s.corrected_kg)),
        cast(grams(b.s.weight_kg) as hugeint)
    ) as bigint) end as minor_at_stake
from check_rows as c
cross join looked_at as k
inner join best as b on b.sheet_no = c.sheet_no and b.row_no = c.row_no
