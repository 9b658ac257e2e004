-- Grain: one row per weight (weighings, or members' records) far outside what the same member brought of
-- the same coffee at other times, that would lie within it if one likely slip were undone. Weights are
-- compared a sack, since two sacks on the scale are no slip. `times`: by what the weight was multiplied;
-- of several slips the one nearest the middle weight.
with weight as (
    select
        sheet_no, row_no, member_no, species, form, weight_kg, sacks, slip_rows, peers_score,
        kg_from_grams(div_half_away(grams(weight_kg), sacks)) as each_kg
    from check_rows
    where weight_kg > 0
),
past as (
    select
        member_no, species, form, count(*) as weights,
        cast(median(each_kg) as decimal(14, 3)) as middle_each_kg,
        min(each_kg, 2) as least, max(each_kg, 2) as most,
        min(weight_kg, 2) as least_whole, max(weight_kg, 2) as most_whole,
        median(ln(each_kg)) as middle_ln, mad(ln(each_kg)) as mad_ln
    from weight
    where each_kg > 0
    group by member_no, species, form
),
far as (
    select
        w.*, p.weights - 1 as others, p.middle_ln,
        cast(p.middle_each_kg * w.sacks as decimal(14, 3)) as middle_kg,
        case when w.each_kg = p.least[1] then p.least[2] else p.least[1] end as least_kg,
        case when w.each_kg = p.most[1] then p.most[2] else p.most[1] end as most_kg,
        case when w.weight_kg = p.least_whole[1] then p.least_whole[2] else p.least_whole[1] end
            as least_whole_kg,
        case when w.weight_kg = p.most_whole[1] then p.most_whole[2] else p.most_whole[1] end
            as most_whole_kg
    from weight as w
    inner join past as p
        on p.member_no = w.member_no and p.species = w.species and p.form = w.form
    where p.weights > w.slip_rows and w.each_kg > 0
        -- Few weights, or steady ones, give a deviation too small to go by: about 15 % at least.
        and abs(ln(w.each_kg) - p.middle_ln)
            > w.peers_score * 1.4826 * greatest(p.mad_ln, 0.10)
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
    -- A bag more or less than usual is no slip: the whole weight lies outside as well.
    where (f.each_kg * 2 > f.most_kg * 3 and f.weight_kg > f.most_whole_kg)
        or (f.each_kg * 3 < f.least_kg * 2 and f.weight_kg < f.least_whole_kg)
),
best as (
    select
        sheet_no, row_no,
        min_by(s, (abs(ln(corrected_kg / sacks) - middle_ln), times)) as s
    from slip as s
    where corrected_kg between least_kg * sacks and most_kg * sacks
    group by sheet_no, row_no
)
select
    c.* exclude (weight_kg, kg_at_stake, minor_at_stake),
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
