-- Grain: one row per weight (weighings, or members' records) far outside what the same member brought of
-- the same coffee at other times, that would lie within it if one likely slip were undone. Weights are
-- compared a sack, since two sacks on the scale are no slip. `times`: by what the weight was multiplied;
-- of several slips the one nearest the middle weight.
with weight as not materialized (
    select
        *,
        case when sacks = 1 then weight_kg
        else kg_from_grams(div_half_away(grams(weight_kg), sacks)) end as each_kg
    from weight_of_rows
    -- Less a sack would be rounded to nothing.
    where weight_kg > 0 and grams(weight_kg) * 2 >= sacks
),
-- Only a member's largest weight a sack can be far above all others, and only the least far below: of
-- most members neither is, and no median need be found. Numbers are grouped sooner than texts: that two
-- members of a book share one of 2^64 is not to be expected.
apart as (
    select hash(member_no, species, form) as about_no
    from weight
    group by about_no
    having max(each_kg, 2)[1] * 2 > max(each_kg, 2)[2] * 3 or min(each_kg, 2)[1] * 3 < min(each_kg, 2)[2] * 2
),
doubtful as (
    select *
    from weight
    where hash(member_no, species, form) in (select about_no from apart)
),
past as (
    select
        member_no, species, form, count(*) as weights,
        cast(median(each_kg) as decimal(14, 3)) as middle_each_kg,
        min(each_kg, 2) as least, max(each_kg, 2) as most,
        min(weight_kg, 2) as least_whole, max(weight_kg, 2) as most_whole,
        median(ln(each_kg)) as middle_ln, mad(ln(each_kg)) as mad_ln
    from doubtful
    group by member_no, species, form
),
beside as (
    select
        w.*, p.weights, p.middle_ln, p.mad_ln,
        cast(p.middle_each_kg * w.sacks as decimal(14, 3)) as middle_kg,
        case when w.each_kg = p.least[1] then p.least[2] else p.least[1] end as least_kg,
        case when w.each_kg = p.most[1] then p.most[2] else p.most[1] end as most_kg,
        case when w.weight_kg = p.least_whole[1] then p.least_whole[2] else p.least_whole[1] end
            as least_whole_kg,
        case when w.weight_kg = p.most_whole[1] then p.most_whole[2] else p.most_whole[1] end
            as most_whole_kg
    from doubtful as w
    inner join past as p
        on p.member_no = w.member_no and p.species = w.species and p.form = w.form
),
far as (
    select *
    from beside
    -- A bag more or less than usual is no slip: the whole weight lies outside as well, by a quarter.
    where (each_kg * 2 > most_kg * 3 and weight_kg * 4 > most_whole_kg * 5)
        or (each_kg * 3 < least_kg * 2 and weight_kg * 5 < least_whole_kg * 4)
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
),
best as (
    select
        sheet_no, row_no, (select kind = 'weighings' from looked_at) as paid,
        min_by(s, (abs(ln(corrected_kg / sacks) - middle_ln), times)) as s
    from slip as s
    where corrected_kg between least_kg * sacks and most_kg * sacks
    group by sheet_no, row_no
)
select
    b.sheet_no,
    b.row_no,
    b.paid,
    case when b.paid then 'net_kg' else 'kg' end as col,
    cast(b.s.weight_kg as varchar) as value,
    b.s.slip,
    b.s.times,
    b.s.weight_kg,
    b.s.weights - 1 as others,
    b.s.middle_kg,
    b.s.corrected_kg,
    cast(abs(b.s.weight_kg - b.s.corrected_kg) as decimal(14, 3)) as kg_at_stake,
    case when b.paid then cast(div_half_away(
        cast(v.value_minor as hugeint) * abs(grams(b.s.weight_kg) - grams(b.s.corrected_kg)),
        cast(grams(b.s.weight_kg) as hugeint)
    ) as bigint) end as minor_at_stake
from best as b
left join valued as v on v.sheet_no = b.sheet_no and v.row_no = b.row_no
left join stations as st on st.station = b.s.station
inner join limits_here as l
    on l.species = coalesce(b.s.species, '') and l.form = coalesce(b.s.form, '')
    and l.station = coalesce(st.station, '')
where b.s.weights > l.slip_rows
    -- Few weights, or steady ones, give a deviation too small to go by: about 15 % at least.
    and abs(ln(b.s.each_kg) - b.s.middle_ln)
        > l.peers_score * 1.4826 * greatest(b.s.mad_ln, 0.10)
