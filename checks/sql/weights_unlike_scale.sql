-- Grain: one row per station, recorder and scale, at its first counted weighing: the span of 3, 6 or 12 of the
-- recorder's days whose readings are least like a scale's. Three things are looked at together (Fisher):
-- whether last digits other than 0 and 5 come equally often (rounding is another finding), whether a last
-- digit follows itself as often as chance has it (who makes up numbers avoids that), and whether members'
-- own records lie further off than elsewhere. `by_chance`: for all spans looked at (Bonferroni).
with apart as not materialized (
    select station, weighed_by as recorder, scale, day, abs(apart_ln) as apart_ln
    from matched
    where independent and written_from = 'own_notebook' and apart_ln is not null
),
bound as (
    select 2.5 * 1.4826 * median(apart_ln) as far_ln
    from apart
),
records as (
    select
        a.station, a.recorder, a.scale, a.day, count(*) as pairs,
        count(*) filter (where a.apart_ln > b.far_ln) as pairs_off
    from apart as a
    cross join bound as b
    group by a.station, a.recorder, a.scale, a.day
),
share as (
    select greatest(0.02, cast(sum(pairs_off) as double) / nullif(sum(pairs), 0)) as far_share
    from records
),
of_scale as (
    select station, scale, sum(pairs) as scale_pairs, sum(pairs_off) as scale_pairs_off
    from records
    group by station, scale
),
numbered as (
    select
        d.*, d.readings - 1 as follows,
        coalesce(r.pairs, 0) as pairs, coalesce(r.pairs_off, 0) as pairs_off
    from scale_days as d
    left join records as r
        on r.station = d.station and r.recorder = d.recorder and r.scale = d.scale and r.day = d.day
    where d.recorder is not null
),
span as (
    select
        station, recorder, scale, min(day) over w as from_day, day as to_day,
        sum(readings) over w as readings, sum(follows) over w as follows, sum(repeats) over w as repeats,
        sum(pairs) over w as pairs, sum(pairs_off) over w as pairs_off,
        [
            sum(digits[1]) over w, sum(digits[2]) over w, sum(digits[3]) over w, sum(digits[4]) over w,
            sum(digits[5]) over w, sum(digits[6]) over w, sum(digits[7]) over w, sum(digits[8]) over w,
            sum(digits[9]) over w, sum(digits[10]) over w
        ]::bigint[] as counts
    from numbered
    cross join (values (3), (6), (12)) as length (days)
    window w as (
        partition by station, recorder, scale, days order by day
        rows between days - 1 preceding and current row
    )
),
looked as (
    select
        s.*, l.digits_rows,
        -- As often as the span's own digits have it: who rounds repeats himself more.
        list_sum(list_transform(s.counts, lambda c: c * c)) / pow(s.readings, 2) as same_share,
        list_concat(s.counts[2:5], s.counts[7:10]) as others
    from span as s
    inner join limits_here as l on l.station = s.station and l.species = '' and l.form = ''
    where s.readings >= l.digits_rows
),
possible as (
    select
        k.* exclude (digits_rows),
        -- On some scales, of light loads or coarse steps, records always lie further off. So what is usual on
        -- other days of the same scale counts, drawn to the whole book's share by as much as twenty pairs.
        greatest(s.far_share, (coalesce(o.scale_pairs_off, 0) - k.pairs_off + 20 * s.far_share)
            / (coalesce(o.scale_pairs, 0) - k.pairs + 20)) as far_share,
        chi_square_7_tail(chi_square_uniform(k.others)) as digits_chance,
        count(*) over () as looks
    from looked as k
    cross join share as s
    left join of_scale as o on o.station = k.station and o.scale = k.scale
    where list_sum(k.others) > 0 and k.follows > 0 and k.same_share < 1
),
scored as (
    select
        *,
        binomial_at_most(cast(repeats as bigint), cast(follows as bigint), same_share)
            as repeats_chance,
        binomial_at_least(cast(pairs_off as bigint), cast(pairs as bigint), far_share)
            as records_chance
    from possible
    -- A tail is at least its first term: where even those are together no wonder, no sum is needed.
    where fisher_of_three(
        digits_chance,
        binomial_term(cast(repeats as bigint), cast(follows as bigint), same_share),
        binomial_term(cast(pairs_off as bigint), cast(pairs as bigint), far_share)
    ) * looks < 0.01
),
together as (
    select *, fisher_of_three(digits_chance, repeats_chance, records_chance) * looks as by_chance
    from scored
),
worst as (
    select station, recorder, scale, min_by(t, (by_chance, from_day, to_day)) as t
    from together as t
    group by station, recorder, scale
),
firsts as (
    select station, recorder, scale, min(place) as place
    from scale_days
    group by station, recorder, scale
)
select
    sheet_of(f.place) as sheet_no, row_of(f.place) as row_no, w.station, w.recorder, w.scale,
    w.t.from_day, w.t.to_day, cast(w.t.readings as bigint) as readings,
    array_to_string(w.t.counts, ' ') as digit_counts,
    cast(w.t.repeats as bigint) as repeats,
    cast(round(w.t.follows * w.t.same_share) as bigint) as repeats_usual,
    cast(w.t.pairs_off as bigint) as pairs_off, cast(w.t.pairs as bigint) as pairs,
    cast(100 * w.t.by_chance as decimal(14, 4)) as by_chance_pct,
    cast(-ln(greatest(w.t.by_chance, 1e-300)) as decimal(14, 2)) as unlike_score,
    w.t.by_chance < 0.01 as unlike,
    cast(null as decimal(14, 3)) as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from worst as w
inner join firsts as f
    on f.station = w.station and f.recorder = w.recorder and f.scale = w.scale
