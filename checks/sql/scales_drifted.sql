-- Grain: one row per scale whose weights have moved against what members weigh at home, at its first weighing
-- of the first span of two to twelve weeks in which they have: against all before that span, and before its
-- last four weeks. Each member's balance has an error of its own, so members are held beside themselves: least
-- squares with a mean for each member (analysis of variance in blocks). apart: of the logarithm of record over
-- scale, millionths. by_chance: for all spans of the book that are looked at (Bonferroni).
with pair as not materialized (
    select m.scale, m.day, hash(m.member_no) as member, cast(m.apart_ln * 1000000 as bigint) as apart
    from matched as m
    anti join exceptions as e
        on e.kind = 'weighings' and e.sheet_no = m.weighed_sheet_no and e.row_no = m.weighed_row_no
    inner join limits_here as l on l.station = m.station and l.species = '' and l.form = ''
    where m.independent and m.written_from = 'own_notebook' and m.apart_ln is not null
        and abs(m.pct_apart) <= l.record_differs
),
ends as (
    select cast(unnest(generate_series(first_day + 41, last_day + 6, interval 7 day)) as date) as to_day
    from season_days
),
spans as (
    select
        e.to_day, n.days, cast(e.to_day - n.days + 1 as date) as from_day,
        cast(e.to_day - n.apart as date) as cut_day
    from ends as e
    cross join (values (14, 28), (28, 28), (56, 56), (84, 84)) as n (days, apart)
),
daily as (
    select scale, day, count(*) as pairs, sum(apart) as apart
    from pair
    group by scale, day
),
late as (
    select
        d.scale, s.to_day, s.days, s.from_day, s.cut_day, sum(d.pairs) as pairs, sum(d.apart) as apart
    from daily as d
    inner join spans as s on d.day between s.from_day and s.to_day
    group by d.scale, s.to_day, s.days, s.from_day, s.cut_day
),
-- Several spans have the same weeks before them: these are gone through once.
early as (
    select d.scale, c.cut_day, sum(d.pairs) as pairs, sum(d.apart) as apart
    from daily as d
    inner join (select distinct cut_day from spans) as c on d.day <= c.cut_day
    group by d.scale, c.cut_day
),
looked as (
    select
        a.scale, a.to_day, a.days, a.from_day, a.cut_day,
        a.apart / a.pairs - e.apart / e.pairs as apart, l.scale_drift, l.drift_pairs, l.drift_members,
        count(*) over () as looks, row_number() over (order by a.scale, a.to_day, a.days) as look
    from late as a
    inner join early as e on e.scale = a.scale and e.cut_day = a.cut_day
    inner join scales as sc on sc.scale = a.scale
    inner join limits_here as l on l.station = sc.station and l.species = '' and l.form = ''
    where a.pairs >= l.drift_pairs and e.pairs >= l.drift_pairs
),
-- Few spans are half as far apart: only these are gone through member by member.
sides as (
    select
        s.look, p.member,
        count(*) filter (where p.day >= s.from_day) as late_pairs,
        count(*) filter (where p.day < s.from_day) as early_pairs,
        cast(sum(p.apart) filter (where p.day >= s.from_day) as double) as late_sum,
        cast(sum(p.apart) filter (where p.day < s.from_day) as double) as early_sum,
        cast(sum(p.apart * p.apart) as double) as squares
    from looked as s
    inner join pair as p
        on p.scale = s.scale and (p.day <= s.cut_day or p.day between s.from_day and s.to_day)
    where abs(s.apart) * 2 >= s.scale_drift * 10000
    group by s.look, p.member
),
beside_themselves as (
    select
        *,
        late_pairs * early_pairs / (late_pairs + early_pairs) as weight,
        late_sum / late_pairs - early_sum / early_pairs as moved,
        squares - pow(late_sum + early_sum, 2) / (late_pairs + early_pairs) as squares_within
    from sides
    where late_pairs > 0 and early_pairs > 0
),
-- In the order of members, since sums of floats hang on their order.
fitted as (
    select
        look, count(*) as members,
        cast(sum(late_pairs) as bigint) as late_pairs, cast(sum(early_pairs) as bigint) as early_pairs,
        sum(weight order by member) as weight,
        sum(weight * moved order by member) / sum(weight order by member) as moved,
        sum(squares_within order by member) as squares_within,
        cast(sum(late_pairs) + sum(early_pairs) - count(*) - 1 as bigint) as left_over
    from beside_themselves
    group by look
),
scored as (
    select
        s.*, f.members, f.late_pairs, f.early_pairs,
        -- A scale that shows more leaves records that say less beside it.
        100 * (exp(-f.moved / 1000000) - 1) as shift_pct,
        f.moved * sqrt(f.weight * f.left_over / greatest(f.squares_within - pow(f.moved, 2) * f.weight, 1))
            as t,
        s.looks * student_beyond(t, f.left_over) as by_chance
    from fitted as f
    inner join looked as s on s.look = f.look
    where f.members >= s.drift_members and f.late_pairs >= s.drift_pairs and f.early_pairs >= s.drift_pairs
),
first_moved as (
    select scale, min_by(m, (to_day, days)) as m
    from scored as m
    where abs(shift_pct) >= scale_drift and by_chance < 0.01
    group by scale
),
weighed as (
    select
        f.scale, any_value(f.m) as m, min(place_of(w.sheet_no, w.row_no)) as place,
        cast(sum(w.net_kg) as decimal(14, 3)) as net_kg,
        cast(sum(v.value_minor) as bigint) as value_minor,
        any_value(cast(round(abs(f.m.shift_pct) * 100) as bigint)) as shift_bp
    from first_moved as f
    inner join weighings as w
        on w.scale = f.scale and w.day between f.m.from_day and f.m.to_day and w.state = 'counted'
    left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    group by f.scale
)
select
    sheet_of(w.place) as sheet_no, row_of(w.place) as row_no, w.scale,
    w.m.from_day as from_day, w.m.to_day as to_day, w.m.cut_day as before_day,
    w.m.late_pairs as late_pairs, w.m.early_pairs as early_pairs, w.m.members as members,
    cast(w.m.shift_pct as decimal(14, 2)) as shift_pct, cast(w.m.t as decimal(14, 4)) as student_t,
    kg_from_grams(div_half_away(grams(w.net_kg) * w.shift_bp, 10000::bigint)) as kg_at_stake,
    cast(div_half_away(
        cast(w.value_minor as hugeint) * w.shift_bp, 10000::hugeint
    ) as bigint) as minor_at_stake
from weighed as w
