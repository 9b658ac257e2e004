-- Grain: one row per receipt line that tells why the lots' cards of its station, day and coffee say that
-- more or less was taken in than the receipts add up to: with a likely slip undone the two agree, or the
-- line alone is as much as they differ by (it is of another day, or of the other form). Of many the four
-- nearest to what their members bring. What a station's cards always differ by is no finding.
with bought as (
    select station, day, species, form, cast(sum(taken_g) as bigint) as receipts_g
    from coffee_days
    where taken_g is not null
    group by station, day, species, form
),
carded as (
    select
        station, day, species, form, cast(sum(grams(coalesce(kg_out, kg_in))) as bigint) as card_g
    from lots
    where state = 'counted' and step = 'receiving' and coalesce(kg_out, kg_in) > 0
    group by station, day, species, form
),
both_sides as (
    select
        b.*, c.card_g,
        cast(cast(c.card_g - b.receipts_g as double) / b.receipts_g as decimal(18, 6)) as apart
    from bought as b
    inner join carded as c
        on c.station = b.station and c.day = b.day and c.species = b.species and c.form = b.form
),
usual as (
    select station, form, median(apart) as usual_apart, 1.4826 * mad(apart) as spread
    from both_sides
    group by station, form
    having count(*) >= 10
),
doubtful as (
    select
        d.*,
        d.card_g - cast(d.receipts_g * (1 + u.usual_apart) as bigint) as apart_g,
        cast(2.5 * u.spread * d.receipts_g as bigint) + 50 as within_g
    from both_sides as d
    inner join usual as u on u.station = d.station and u.form = d.form
    where abs(d.apart - u.usual_apart) > 4 * u.spread
        and abs(d.card_g - d.receipts_g) >= 1000
),
sheet as (
    select distinct s.sheet_no
    from weighed_sheets as s
    inner join doubtful as d on d.station = s.station and d.day = s.day
),
line as (
    select
        d.station, d.day, d.species, d.form, d.card_g, d.receipts_g, d.apart_g, d.within_g,
        w.sheet_no, w.row_no, w.form = d.form and w.species = d.species as own,
        grams(w.gross_kg) as gross_g, grams(w.net_kg) as net_g, greatest(w.bags, 1) as sacks,
        w.member_no
    from doubtful as d
    inner join (from weighings semi join sheet using (sheet_no)) as w
        on w.station = d.station and w.day = d.day
    where w.state in ('counted', 'held') and w.net_kg > 0 and w.gross_kg > 0
),
-- Many lines are as heavy as others.
undone as (
    select gross_g, unnest(slips_undone(gross_g)) as s
    from (select distinct gross_g from line where own)
),
told as (
    select l.*, u.s
    from line as l
    inner join undone as u on u.gross_g = l.gross_g
    where l.own
    union all by name
    select *, {'slip': case when own then 'day' else 'form' end, 'g': gross_g} as s
    from line
),
fits as (
    select
        *,
        case s.slip
            when 'day' then abs(apart_g + net_g)
            when 'form' then abs(apart_g - net_g)
            else abs(apart_g - (s.g - gross_g))
        end as left_g
    from told
    where net_g + s.g - gross_g > 0
        and left_g <= within_g + case when s.slip in ('point', 'pounds') then s.g // 100 else 0 end
),
-- Few slips make both agree: what else a member brings is looked at for these only.
past as (
    select w.member_no, w.species, w.form, median(ln(w.net_kg / greatest(w.bags, 1))) as middle_ln
    from weighings as w
    inner join (select distinct member_no from fits) as f on f.member_no = w.member_no
    where w.state = 'counted' and w.net_kg > 0
    group by w.member_no, w.species, w.form
),
liked as (
    select
        f.*,
        case
            when f.s.slip in ('day', 'form') then 0.3
            else abs(ln(greatest(f.net_g + f.s.g - f.gross_g, 1) / 1000 / f.sacks) - p.middle_ln)
                - least(0.5, abs(ln(f.net_g / 1000 / f.sacks) - p.middle_ln)) / 2
        end as unlike_past
    from fits as f
    left join past as p
        on p.member_no = f.member_no and p.species = f.species and p.form = f.form
),
near as (
    select
        station, day, species, form, sheet_no, row_no,
        min_by(f, (coalesce(unlike_past, 1), left_g, s.slip, s.g)) as f
    from liked as f
    group by station, day, species, form, sheet_no, row_no
),
best as (
    -- Where several lines tell why, one of the four likeliest: a person looks at these receipts.
    select
        f, least(count(*) over (partition by station, day, species, form), 4) as lines_that_fit
    from near
    qualify row_number() over (
        partition by station, day, species, form
        order by coalesce(f.unlike_past, 1), f.left_g, sheet_no, row_no
    ) <= 4
)
select
    b.f.sheet_no as sheet_no, b.f.row_no as row_no, b.f.station, b.f.day, b.f.form,
    b.f.s.slip in ('day', 'form') as whole_line,
    kg_from_grams(b.f.card_g) as card_kg,
    kg_from_grams(b.f.receipts_g) as receipts_kg,
    kg_from_grams(b.f.s.g) as corrected_kg,
    b.lines_that_fit,
    -- Shared among the lines that it may stand in.
    kg_from_grams(div_half_away(abs(b.f.card_g - b.f.receipts_g), b.lines_that_fit)) as kg_at_stake,
    cast(div_half_away(
        cast(v.value_minor as hugeint) * case
            when b.f.s.slip in ('day', 'form') then b.f.net_g else abs(b.f.s.g - b.f.gross_g)
        end,
        cast(b.f.net_g as hugeint) * b.lines_that_fit
    ) as bigint) as minor_at_stake
from best as b
left join (
    select v.sheet_no, v.row_no, v.value_minor
    from valued as v
    semi join best on v.sheet_no = best.f.sheet_no and v.row_no = best.f.row_no
) as v on v.sheet_no = b.f.sheet_no and v.row_no = b.f.row_no
