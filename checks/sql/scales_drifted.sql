-- Grain: one row per scale whose weights have moved against members' own independent records, at its first
-- weighing of the first span of two to twelve weeks in which they have: medians of (scale - record) /
-- record, in hundredths of a percent, against all before that span, and before its last four weeks.
with pair as (
    select
        m.scale, m.day, m.net_kg,
        div_half_away(grams(m.net_kg - m.record_kg) * 10000, grams(m.record_kg)) as off_bp
    from matched as m
    anti join exceptions as e
        on e.kind = 'weighings' and e.sheet_no = m.weighed_sheet_no and e.row_no = m.weighed_row_no
    inner join limits_here as l on l.station = m.station and l.species = '' and l.form = ''
    where m.independent and m.standing = 'settled' and m.record_kg > 0
        and abs(m.pct_apart) <= l.record_differs
),
ends as (
    select cast(unnest(generate_series(first_day + 41, last_day + 6, interval 7 day)) as date) as to_day
    from season_days
),
spans as (
    select e.to_day, n.days, n.apart, cast(e.to_day - n.days + 1 as date) as from_day
    from ends as e
    cross join (values (14, 28), (28, 28), (56, 56), (84, 84)) as n (days, apart)
),
middle as (
    select
        p.scale, median(p.off_bp) as middle_bp, any_value(l.scale_drift) * 100 as far_bp,
        any_value(l.drift_pairs) as drift_pairs, any_value(l.drift_score) as drift_score
    from pair as p
    inner join scales as sc on sc.scale = p.scale
    inner join limits_here as l on l.station = sc.station and l.species = '' and l.form = ''
    group by p.scale
),
daily as (
    select
        p.scale, p.day, count(*) as pairs,
        count(*) filter (where p.off_bp >= m.middle_bp + m.far_bp / 2) as above,
        count(*) filter (where p.off_bp <= m.middle_bp - m.far_bp / 2) as below
    from pair as p
    inner join middle as m on m.scale = p.scale
    group by p.scale, p.day
),
late as (
    select
        d.scale, s.to_day, s.days, s.from_day, s.to_day - s.apart as cut_day,
        sum(d.pairs) as pairs, sum(d.above) as above, sum(d.below) as below
    from daily as d
    inner join spans as s on d.day between s.from_day and s.to_day
    group by d.scale, s.to_day, s.days, s.from_day, s.apart
),
-- Several spans have the same weeks before them: these are gone through once.
early as (
    select d.scale, c.cut_day, sum(d.pairs) as pairs, sum(d.above) as above, sum(d.below) as below
    from daily as d
    inner join (select distinct to_day - apart as cut_day from spans) as c on d.day <= c.cut_day
    group by d.scale, c.cut_day
),
-- Two medians are that far apart only where one of them is half as far from the scale's own: then so are half
-- of its pairs. Of few spans that is so: medians are worked out for these only.
doubtful as (
    select a.scale, a.to_day, a.days, a.from_day, a.cut_day
    from late as a
    inner join early as e on e.scale = a.scale and e.cut_day = a.cut_day
    inner join middle as m on m.scale = a.scale
    where a.pairs >= m.drift_pairs and e.pairs >= m.drift_pairs
        and (greatest(a.above, a.below) * 2 >= a.pairs or greatest(e.above, e.below) * 2 >= e.pairs)
),
apart as (
    select
        s.scale, s.to_day, s.days, s.from_day,
        count(*) filter (where p.day >= s.from_day) as late_pairs,
        count(*) filter (where p.day <= s.cut_day) as early_pairs,
        median(p.off_bp) filter (where p.day >= s.from_day) as late_bp,
        median(p.off_bp) filter (where p.day <= s.cut_day) as early_bp,
        mad(p.off_bp) filter (where p.day >= s.from_day) as late_mad,
        mad(p.off_bp) filter (where p.day <= s.cut_day) as early_mad
    from doubtful as s
    inner join pair as p on p.scale = s.scale and p.day <= s.to_day
    group by s.scale, s.to_day, s.days, s.from_day
),
moved as (
    select
        a.*, a.late_bp - a.early_bp as shift_bp, m.drift_score,
        -- Standard error of a median by way of the MAD: 1.2533 x 1.4826 x MAD / sqrt(n).
        1.8581 * sqrt(a.late_mad * a.late_mad / a.late_pairs + a.early_mad * a.early_mad / a.early_pairs)
            as error_bp
    from apart as a
    inner join middle as m on m.scale = a.scale
    where abs(a.late_bp - a.early_bp) >= m.far_bp
),
first_moved as (
    select m.scale, min_by(m, (m.to_day, m.days)) as m
    from moved as m
    where abs(m.shift_bp) > m.drift_score * m.error_bp
    group by m.scale
),
weighed as (
    select
        f.scale, any_value(f.m) as m, min(place_of(w.sheet_no, w.row_no)) as place,
        cast(sum(w.net_kg) as decimal(14, 3)) as net_kg,
        cast(sum(v.value_minor) as bigint) as value_minor
    from first_moved as f
    inner join weighings as w
        on w.scale = f.scale and w.day between f.m.from_day and f.m.to_day and w.state = 'counted'
    left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    group by f.scale
)
select
    sheet_of(w.place) as sheet_no, row_of(w.place) as row_no, w.scale,
    w.m.from_day, w.m.to_day, w.m.late_pairs, w.m.early_pairs,
    cast(w.m.late_bp / 100 as decimal(14, 2)) as late_pct,
    cast(w.m.early_bp / 100 as decimal(14, 2)) as early_pct,
    cast(w.m.shift_bp / 100 as decimal(14, 2)) as shift_pct,
    kg_from_grams(div_half_away(
        grams(w.net_kg) * cast(abs(w.m.shift_bp) as bigint), 10000::bigint
    )) as kg_at_stake,
    cast(div_half_away(
        cast(w.value_minor as hugeint) * cast(abs(w.m.shift_bp) as bigint), 10000::hugeint
    ) as bigint) as minor_at_stake
from weighed as w
