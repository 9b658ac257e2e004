-- Grain: one row per weighed step of a lot. Steps on its card that give no weight out belong to the
-- next that does: "pulping, fermenting, washing". Beside the weights on the card stands what the
-- step may give (low_g to high_g, from the outturn bounds and the dry-matter balance), and the
-- difference named: water, parts (pulp, skin, hulls), sorted out, handling, loss, gain. In grams;
-- in_g = out_g + water_g + parts_g + sorted_g + handling_g + loss_g - gain_g.
insert into lot_steps
with card as (
    select
        lot_no, line, step, station, day, coalesce(ended_on, day) as ended_on, species, form,
        grams(kg_in) as in_g, grams(kg_out) as out_g, moisture_pct, from_lots, sheet_no, row_no,
        state in ('held', 'sent_back') as waits,
        count(kg_out) over (
            partition by lot_no order by line, sheet_no, row_no
            rows between unbounded preceding and 1 preceding
        ) as seq
    from lots
    where state in ('counted', 'held', 'sent_back')
        and lot_no is not null and line is not null and step is not null and day is not null
),
taken_sums as (
    select
        lot_no,
        min(form) as form,
        cast(sum(counted_g) as bigint) as in_g,
        cast(sum(read_g) as hugeint) as read_g,
        cast(sum(read_g_pct) as hugeint) as read_g_pct
    from coffee_days
    where counted_g is not null and lot_no <> ''
    group by lot_no
),
taken as (
    -- Moisture of the whole, each reading weighed by its coffee.
    select
        lot_no,
        form,
        in_g,
        cast(cast(div_half_away(read_g_pct, nullif(read_g, 0)) as decimal(18, 0)) * 0.01
            as decimal(14, 4)) as moisture_pct
    from taken_sums
),
weighed as (
    select
        lot_no,
        seq,
        max(line) as line,
        string_agg(step, ', ' order by line) as steps,
        bool_or(waits) as waits,
        last(station order by line) as station,
        first(day order by line) as begun_on,
        max(ended_on) as day,
        last(species order by line) as species,
        last(form order by line) as form_after,
        first(step order by line) as first_step,
        first(in_g order by line) as card_in_g,
        last(out_g order by line) as out_g,
        last(moisture_pct order by line) as moisture_after,
        any_value(from_lots order by line) filter (where from_lots is not null) as from_lots,
        last(sheet_no order by line) as sheet_no,
        last(row_no order by line) as row_no,
        bool_or(step = 'opening_stock') as opens,
        bool_or(step = 'pulping') as pulps,
        bool_or(step in ('fermenting', 'washing')) as washes,
        bool_or(step = 'drying') as dries,
        bool_or(step = 'hulling') as hulls,
        bool_or(step in ('floating', 'grading')) as sorts
    from card
    group by lot_no, seq
    having last(out_g order by line) is not null
),
chained as (
    select
        w.* exclude (waits, day),
        -- A step after one that waits cannot be worked out, and none comes before the one before it.
        bool_or(w.waits) over upto as waits,
        max(w.day) over upto as day,
        lag(w.out_g) over steps as before_g,
        coalesce(
            lag(w.form_after) over steps,
            case when t.form is not null then t.form end,
            case
                when w.first_step in ('pulping', 'floating') then 'fresh_cherry'
                when w.first_step in ('fermenting', 'washing', 'hulling') then 'parchment'
                when w.first_step = 'drying' and w.form_after = 'dry_cherry' then 'fresh_cherry'
                else w.form_after
            end
        ) as form_before,
        coalesce(
            last_value(w.moisture_after ignore nulls) over before,
            case when w.seq = min(w.seq) over all_steps then t.moisture_pct end
        ) as moisture_before,
        coalesce(bool_or(w.pulps or w.washes) over before, false) as washed_before,
        coalesce(bool_or(w.dries) over before, false) as dried_before,
        case when w.from_lots is null then t.in_g end as taken_g
    from weighed as w
    left join taken as t on t.lot_no = w.lot_no
    window
        steps as (partition by w.lot_no order by w.seq),
        upto as (partition by w.lot_no order by w.seq rows unbounded preceding),
        before as (
            partition by w.lot_no order by w.seq
            rows between unbounded preceding and 1 preceding
        ),
        all_steps as (partition by w.lot_no)
),
bounded as (
    select
        c.*,
        -- What only rests weighs going in what it weighs coming out.
        coalesce(
            c.card_in_g,
            c.before_g,
            c.taken_g,
            case when not (c.pulps or c.washes or c.dries or c.hulls or c.sorts) then c.out_g end
        ) as in_g,
        cast(l.handling_loss * 100 as bigint) as handling_bp,
        c.dries or (
            not (c.pulps or c.washes)
            and c.moisture_before is not null and c.moisture_after is not null
        ) as weighs_water,
        -- Ten-thousandths of the weight in, least and most, for each thing that takes parts off.
        cast(100 * case
            when c.pulps and c.washes then l.washed_low
            when c.pulps then l.pulped_low
            when c.washes then l.fermented_low
            else 100
        end as bigint) as wet_low_bp,
        cast(100 * case
            when c.pulps and c.washes then l.washed_high
            when c.pulps then l.pulped_high
            else 100
        end as bigint) as wet_high_bp,
        cast(100 * case when c.hulls then coalesce(h.hulled_low, 100) else 100 end as bigint)
            as hulled_low_bp,
        cast(100 * case when c.hulls then coalesce(h.hulled_high, 100) else 100 end as bigint)
            as hulled_high_bp,
        cast(100 * case when c.sorts then l.sorted_low else 100 end as bigint) as sorted_low_bp,
        c.pulps or c.washes or c.hulls as parts,
        -- Unless read by a meter, what the form holds: the range, and so the widest allowance.
        -- Where the same step pulps or washes, what is dried is wet parchment, which nobody read.
        -- (greatest and least pass over nulls, so they stand around the choice.)
        greatest(coalesce(
            case when not (c.pulps or c.washes) then c.moisture_before - l.tolerance_before end,
            case
                when w.wet then l.wet_parchment_moisture_low
                when c.form_before = 'fresh_cherry' then l.fresh_moisture_low
                else l.moisture_possible_low
            end
        ), 0) as before_low,
        coalesce(
            case when not (c.pulps or c.washes) then c.moisture_before + l.tolerance_before end,
            case
                when w.wet then l.wet_parchment_moisture_high
                when c.form_before = 'fresh_cherry' then l.fresh_moisture_high
                else l.moisture_possible_high
            end
        ) as before_high,
        greatest(coalesce(c.moisture_after - l.tolerance_after, a.moisture_safe_low), 0)
            as after_low,
        coalesce(c.moisture_after + l.tolerance_after, a.moisture_safe_high) as after_high
    from chained as c
    cross join lateral (
        select c.pulps or c.washes
            or (c.form_before = 'parchment' and c.washed_before and not c.dried_before) as wet
    ) as w
    left join lateral (
        select
            x.* exclude (species, form, station),
            greatest(
                cast(c.moisture_before * x.meter_tolerance * 0.01 as decimal(14, 4)),
                x.meter_tolerance_least
            ) as tolerance_before,
            greatest(
                cast(c.moisture_after * x.meter_tolerance * 0.01 as decimal(14, 4)),
                x.meter_tolerance_least
            ) as tolerance_after
        from limits_here as x
        where x.species = c.species and x.form = c.form_before
            and x.station = case
                when c.station in (select station from stations) then c.station else ''
            end
    ) as l on true
    left join limits_here as h
        on h.species = c.species and h.station = ''
        and h.form = case when c.form_before = 'dry_cherry' then 'dry_cherry' else 'parchment' end
    left join limits_here as a
        on a.species = c.species and a.form = c.form_after and a.station = ''
),
ranged as (
    select
        *,
        cast(div_half_away(
            cast(in_g as hugeint) * wet_low_bp * hulled_low_bp * sorted_low_bp,
            1000000000000::hugeint
        ) as bigint) as wet_low_g,
        cast(div_half_away(
            cast(in_g as hugeint) * wet_high_bp * hulled_high_bp, 100000000::hugeint
        ) as bigint) as wet_high_g
    from bounded
),
dried as (
    select
        *,
        -- Coffee at rest may take up water; drying only ever takes it away.
        least(
            coalesce(
                case when weighs_water then
                    grams(kg_at_moisture(kg_from_grams(wet_low_g), before_high, after_low))
                end,
                wet_low_g
            ),
            case when dries then wet_low_g end
        ) as low_g,
        least(
            coalesce(
                case when weighs_water then
                    grams(kg_at_moisture(kg_from_grams(wet_high_g), before_low, after_high))
                end,
                wet_high_g
            ),
            case when dries then wet_high_g end
        ) as high_g
    from ranged
),
explained as (
    select
        *,
        least(greatest(out_g, low_g), high_g) as fits_g,
        -- Of a step that both dries and takes parts off: the water that what came out had held.
        grams(kg_at_moisture(
            kg_from_grams(least(greatest(out_g, low_g), high_g)),
            cast((after_low + after_high) * 0.5 as decimal(14, 4)),
            cast((before_low + before_high) * 0.5 as decimal(14, 4))
        )) - least(greatest(out_g, low_g), high_g) as held_water_g
    from dried
),
named as (
    select
        *,
        in_g - fits_g as explained_g,
        greatest(fits_g - out_g, 0) as short_g,
        greatest(out_g - fits_g, 0) as gain_g
    from explained
),
water as (
    select
        *,
        case
            when not weighs_water then 0
            when parts or sorts then least(greatest(coalesce(held_water_g, 0), 0), explained_g)
            else explained_g
        end as water_g,
        least(short_g, div_half_away(in_g * handling_bp, 10000::bigint)) as handling_g
    from named
)
select
    lot_no,
    cast(row_number() over (partition by lot_no order by seq) as integer) as seq,
    line,
    steps,
    station,
    begun_on,
    day,
    species,
    form_before,
    form_after,
    from_lots,
    in_g,
    out_g,
    low_g,
    high_g,
    moisture_before,
    moisture_after,
    water_g,
    case when parts then explained_g - water_g else 0 end as parts_g,
    case when not parts then explained_g - water_g else 0 end as sorted_g,
    handling_g,
    short_g - handling_g as loss_g,
    gain_g,
    handling_bp,
    opens,
    pulps or washes as wets,
    dries,
    waits,
    sheet_no,
    row_no
from water
order by lot_no, seq;
