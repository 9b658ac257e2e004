-- Grain: scalar macros, the trade's formulas written once; kept in every season file, and loaded
-- where one lacks them (temp macros belong to one connection, and a file may be read-only).
-- Typed arguments: a DOUBLE where kilograms or money belong is refused when the query is bound.
-- A NULL argument gives NULL (currency decimals: an error), and so does a formula without meaning.

-- ---- exact division ---------------------------------------------------------------------------

-- Whole-number a / b, rounded once, half away from zero; NULL where b is 0.
-- 5 / 2 = 3, -5 / 2 = -3, 4 / 3 = 1. BIGINT form: needs abs(a) + abs(b) / 2 below 2^63, else an
-- error. HUGEINT form: the slow 128-bit division only where BIGINT cannot hold the terms.
create or replace temp macro div_half_away
    (a bigint, b bigint) as
        sign(a) * sign(b) * ((abs(a) + abs(b) // 2) // nullif(abs(b), 0)),
    (a hugeint, b hugeint) as
        case
            when a between -4000000000000000000 and 4000000000000000000
                and b between -4000000000000000000 and 4000000000000000000
                then cast(
                    sign(a) * sign(b) * (
                        (abs(cast(a as bigint)) + abs(cast(b as bigint)) // 2)
                        // nullif(abs(cast(b as bigint)), 0)
                    ) as hugeint
                )
            else cast(sign(a) as hugeint) * sign(b)
                * ((abs(a) + abs(b) // 2) // nullif(abs(b), 0))
        end;

-- Grams in kilograms, BIGINT: 60.125 kg = 60125. Below 10^14 for any DECIMAL(14,3).
create or replace temp macro grams(kg decimal(14, 3)) as cast(kg * 1000 as bigint);

-- Kilograms DECIMAL(14,3) from whole grams: 60125 = 60.125 kg.
create or replace temp macro kg_from_grams(g bigint) as
    cast(cast(g as decimal(18, 0)) * 0.001 as decimal(14, 3));

-- Where a row stands, as one number that orders as sheet and row do: a pair of numbers is slow to
-- compare in groups.
create or replace temp macro place_of(sheet_no integer, row_no integer) as
    (cast(sheet_no as bigint) * 4294967296 + row_no);
-- When and where a row stands, as one number that orders as day, sheet and row do: to compare the three
-- of them in each aggregate takes four times as long.
create or replace temp macro moment_of(day date, sheet_no integer, row_no integer) as
    (cast(day - date '1900-01-01' as hugeint) * 9223372036854775808 + place_of(sheet_no, row_no));
create or replace temp macro sheet_of(place bigint) as cast(place // 4294967296 as integer);
create or replace temp macro row_of(place bigint) as cast(place % 4294967296 as integer);

-- ---- money: BIGINT minor units ------------------------------------------------------------------

-- What grams times ten-thousandths of a price are to be divided by for minor units, BIGINT.
create or replace temp macro minor_in(currency_decimals integer) as
    cast(case currency_decimals
        when 0 then 10000000
        when 2 then 100000
        when 3 then 10000
        when 4 then 1000
        else error('currency decimals must be 0, 2, 3 or 4')
    end as bigint);

-- Value of a weight, minor units: net kg x price per kg (four places), multiplied first, rounded
-- once. 60.5 kg x 0.6250 at 2 decimals = 37.8125 -> 3781. Decimals are 0, 2, 3 or 4 (ISO 4217);
-- others are an error, since a wrong power of ten must not pass as no value. A value beyond BIGINT
-- is an error too: no DECIMAL(14,3) weight reaches it at up to 92 million minor units a kilogram.
-- Source: arithmetic; rounding half away from zero is the usual commercial rounding.
create or replace temp macro value_minor
    (net_kg decimal(14, 3), price_per_kg decimal(14, 4), currency_decimals integer) as
        case
            -- What any weighing is worth is far from needing 128 bits, which take three times as long.
            when net_kg between -3000000 and 3000000 and price_per_kg between -300000 and 300000
                then div_half_away(
                    grams(net_kg) * cast(price_per_kg * 10000 as bigint), minor_in(currency_decimals)
                )
            else cast(div_half_away(
                cast(grams(net_kg) as hugeint) * cast(price_per_kg * 10000 as bigint),
                cast(minor_in(currency_decimals) as hugeint)
            ) as bigint)
        end;

-- A percentage of an amount, minor units: 12345 x 2.5 % = 308.625 -> 309. Percent has four places.
create or replace temp macro percent_minor(amount_minor bigint, percent decimal(14, 4)) as
    case
        when amount_minor between -9000000000000 and 9000000000000 and percent between -100 and 100
            then div_half_away(amount_minor * cast(percent * 10000 as bigint), 1000000::bigint)
        else cast(div_half_away(
            cast(amount_minor as hugeint) * cast(percent * 10000 as bigint), 1000000::hugeint
        ) as bigint)
    end;

-- What a percentage leaves to whom it belongs, minor units, rounded up so that it is never a coin short:
-- 12345 x 50 % = 6172.5 -> 6173. Of an amount of nought or more.
create or replace temp macro kept_minor(amount_minor bigint, percent decimal(14, 4)) as
    case
        when amount_minor <= 9000000000000 and percent <= 100
            then (amount_minor * cast(percent * 10000 as bigint) + 999999) // 1000000
        else cast(
            (cast(amount_minor as hugeint) * cast(percent * 10000 as bigint) + 999999) // 1000000 as bigint
        )
    end;

-- A charge per kilogram, minor units: 60.5 kg x 0.0150 at 2 decimals = 0.9075 -> 91.
create or replace temp macro per_kg_minor
    (net_kg decimal(14, 3), rate decimal(14, 4), currency_decimals integer) as
        value_minor(net_kg, rate, currency_decimals);

-- ---- moisture and outturn: DECIMAL(14,3) kg -----------------------------------------------------

-- The same dry matter at another moisture (wet basis), kg: W2 = W1 (100 - M1) / (100 - M2).
-- 100 kg at 25 % -> 15.5 %: 88.757 kg. NULL unless both moistures are at least 0 and below 100.
-- Source: SDSU Extension, Corn Grain Moisture Discount, 2020.
create or replace temp macro kg_at_moisture
    (kg decimal(14, 3), moisture_pct decimal(14, 4), standard_pct decimal(14, 4)) as
        case
            when moisture_pct >= 0 and moisture_pct < 100
                and standard_pct >= 0 and standard_pct < 100
                then kg_from_grams(cast(div_half_away(
                    cast(grams(kg) as hugeint) * (1000000 - cast(moisture_pct * 10000 as bigint)),
                    cast(1000000 - cast(standard_pct * 10000 as bigint) as hugeint)
                ) as bigint))
        end;

-- Green bean equivalent, kg: dry cherry x 0.5, parchment x 0.8, green x 1; fresh cherry has no
-- agreed factor and is divided by cherry_per_green, kg fresh cherry per kg green, a stated limit
-- (about 6 for arabica, 5 for robusta). 60 kg parchment = 48 kg. NULL for any other form.
-- Sources: ICO Rules on Statistics, ICC 102-10 (2011); ITC The Coffee Guide, QA 108.
create or replace temp macro gbe_kg
    (kg decimal(14, 3), form varchar, cherry_per_green decimal(14, 4)) as
        kg_from_grams(case form
            when 'fresh_cherry' then case
                when cherry_per_green > 0 then div_half_away(
                    grams(kg) * 10000::bigint, cast(cherry_per_green * 10000 as bigint)
                )
            end
            when 'dry_cherry' then div_half_away(grams(kg), 2::bigint)
            when 'parchment' then div_half_away(grams(kg) * 4::bigint, 5::bigint)
            when 'green' then grams(kg)
        end),
    -- The same by kilograms for one of green, as the table green_basis gives them.
    (kg decimal(14, 3), per_green decimal(14, 4)) as
        kg_from_grams(case when per_green > 0 then
            div_half_away(grams(kg) * 10000::bigint, cast(per_green * 10000 as bigint))
        end);

-- ---- trees --------------------------------------------------------------------------------------

-- Trees per hectare, DECIMAL(14,1). Rectangular: 10 000 / (row x tree), 2.5 m x 2.0 m = 2000.0.
-- Triangular, equal sides of tree_m: 10 000 / tree^2 x 2 / sqrt(3), 2.0 m = 2886.8. The row
-- distance of such a planting is tree_m x sqrt(3) / 2, and many write the side for it: any other
-- row distance (beyond 5 cm), any other layout, or more than 1000 m, gives NULL, not a guess.
-- Source: IASRI e-course, hexagonal system; arithmetic.
create or replace temp macro trees_per_ha
    (row_m decimal(14, 4), tree_m decimal(14, 4), layout varchar) as
        case
            when row_m not between 0.0001 and 1000 or tree_m not between 0.0001 and 1000 then null
            when layout = 'rectangular' then cast(div_half_away(
                10000000000000::bigint,
                cast(row_m * 10000 as bigint) * cast(tree_m * 10000 as bigint)
            ) * 0.1 as decimal(14, 1))
            when layout = 'triangular' and (
                abs(row_m - tree_m) <= 0.05
                or abs(row_m - cast(tree_m * 0.866025 as decimal(14, 4))) <= 0.05
            ) then cast(div_half_away(
                10000000000000::hugeint * 11547005383792515290::hugeint,
                cast(tree_m * 10000 as bigint)::hugeint * cast(tree_m * 10000 as bigint)
                * 10000000000000000000::hugeint
            ) * 0.1 as decimal(14, 1))
        end;

-- ---- scales: kg ---------------------------------------------------------------------------------

-- Maximum permissible error at first verification, DECIMAL(18,4) kg: 0.5 e, 1 e, 1.5 e up to
-- 500 e, 2000 e, 10 000 e for class III; the steps are ten times that for class II and a tenth for
-- class IIII. 50 kg on e = 0.1 kg, class III: 0.05 kg. NULL above the last step or below 0.
-- Source: OIML R 76-1 Table 6, class III as read; classes II and IIII from memory.
create or replace temp macro mpe_kg
    (load_kg decimal(14, 3), interval_kg decimal(14, 3), accuracy_class varchar) as
        case
            when interval_kg <= 0 or load_kg < 0 then null
            else cast(interval_kg * case
                when accuracy_class = 'III' then case
                    when load_kg <= interval_kg * 500 then 0.5
                    when load_kg <= interval_kg * 2000 then 1.0
                    when load_kg <= interval_kg * 10000 then 1.5
                end
                when accuracy_class = 'II' then case
                    when load_kg <= interval_kg * 5000 then 0.5
                    when load_kg <= interval_kg * 20000 then 1.0
                    when load_kg <= interval_kg * 100000::decimal(18, 0) then 1.5
                end
                when accuracy_class = 'IIII' then case
                    when load_kg <= interval_kg * 50 then 0.5
                    when load_kg <= interval_kg * 200 then 1.0
                    when load_kg <= interval_kg * 1000 then 1.5
                end
            end as decimal(18, 4))
        end;

-- The same for class III, the class of ordinary trade scales: 50.1 kg on e = 0.1 kg: 0.1 kg.
create or replace temp macro class_iii_mpe_kg
    (load_kg decimal(14, 3), interval_kg decimal(14, 3)) as
        mpe_kg(load_kg, interval_kg, 'III');

-- Error allowed to a scale in use, kg: twice that of first verification, applied to the net load.
-- 60 kg on e = 0.1 kg, class III: 0.2 kg. Source: UK SI 1995/1907 Sch. 2.
create or replace temp macro in_service_error_kg
    (load_kg decimal(14, 3), interval_kg decimal(14, 3)) as
        cast(2 * mpe_kg(load_kg, interval_kg, 'III') as decimal(18, 4)),
    (load_kg decimal(14, 3), interval_kg decimal(14, 3), accuracy_class varchar) as
        cast(2 * mpe_kg(load_kg, interval_kg, accuracy_class) as decimal(18, 4));

-- Smallest load a scale may weigh, DECIMAL(18,3) kg: 20 e for class III, e = 0.1 kg: 2 kg.
-- Source: OIML R 76-1 Table 3, class III as read; II (50 e, for e of 0.1 g up) and IIII (10 e)
-- from memory.
create or replace temp macro smallest_load_kg
    (interval_kg decimal(14, 3)) as
        cast(interval_kg * 20 as decimal(18, 3)),
    (interval_kg decimal(14, 3), accuracy_class varchar) as
        cast(interval_kg * case accuracy_class
            when 'II' then 50 when 'III' then 20 when 'IIII' then 10
        end as decimal(18, 3));

-- Whether a reading is a whole number of scale intervals: 60.3 on 0.1 true, 60.25 on 0.1 false.
-- Source: Directive 2014/31/EU Annex I.
create or replace temp macro is_multiple(x decimal(14, 3), step decimal(14, 3)) as
    grams(x) % nullif(grams(step), 0) = 0;

-- Whether a scale interval is 1, 2 or 5 x 10^k: 0.05 true, 0.25 false. Source: same.
create or replace temp macro is_lawful_interval(interval_kg decimal(14, 3)) as
    rtrim(cast(grams(interval_kg) as varchar), '0') in ('1', '2', '5');

-- ---- statistics: DOUBLE scores, never kilograms or money ----------------------------------------
-- Exact until one last division, so neither the order of rows nor the number of threads matters.
-- DECIMAL(18,6) holds the median, the deviations and their median of three-place figures exactly.
-- median() and mad() over DECIMAL(14,3) cut the midpoint to three places: cast to DECIMAL(18,6)
-- first, or the scores differ from those of the list macros.

-- Pearson's chi-square of counts against equal shares (degrees of freedom: classes less 1).
-- Counts 15,5,3,8,5,17,7,6,9,5 = 23.5; over 16.919 is beyond chance (9 df, 5 %). NULL if all are 0.
create or replace temp macro chi_square_uniform(counts bigint[]) as
    cast(
        len(counts) * list_sum(list_transform(counts, lambda c: cast(c as hugeint) * c))
        - cast(list_sum(counts) as hugeint) * list_sum(counts) as double
    ) / nullif(cast(list_sum(counts) as double), 0);

-- What chi-square of ten last digits (9 degrees of freedom) exceeds by chance in one of a hundred books,
-- where this many groups of digits are looked at: the quantile at 1 - 0.01 / looks (Bonferroni), for
-- the next larger number of looks in the table. 1 = 21.666, 7 = 27.8772; NULL beyond 1 000 000 looks.
-- Source: chi-square distribution; the published checks work each value out with scipy.
create or replace temp macro chi_square_9_critical(looks bigint) as
    case
        when looks <= 1 then 21.6660
        when looks <= 2 then 23.5894
        when looks <= 5 then 26.0564
        when looks <= 10 then 27.8772
        when looks <= 20 then 29.6658
        when looks <= 50 then 31.9890
        when looks <= 100 then 33.7199
        when looks <= 200 then 35.4312
        when looks <= 500 then 37.6669
        when looks <= 1000 then 39.3407
        when looks <= 2000 then 41.0009
        when looks <= 5000 then 43.1772
        when looks <= 10000 then 44.8109
        when looks <= 20000 then 46.4348
        when looks <= 50000 then 48.5678
        when looks <= 100000 then 50.1718
        when looks <= 1000000 then 55.4491
    end::double;

-- Share of last digits 0 and 5, times 500: 100 = no preference, 500 = all. 30 of 100 = 150.
-- Source: Whipple's index, UN scale.
create or replace temp macro share_0_5_whipple(n_0_and_5 bigint, n bigint) as
    cast(500 * n_0_and_5 as double) / nullif(cast(n as double), 0);

-- Pearson's chi-square of a share of last digits 0 and 5 against one fifth (1 degree of freedom).
-- 30 of 100 = 6.25; over 3.841 is beyond chance (5 %). NULL of nothing. Checked against scipy.
create or replace temp macro chi_square_0_5(n_0_and_5 bigint, n bigint) as
    cast((5 * n_0_and_5 - n) * (5 * n_0_and_5 - n) as double) / nullif(cast(4 * n as double), 0);

-- Modified z-score: 0.6745 (x - median) / MAD; beyond 3.5 is far out. NULL where the MAD is 0.
-- x 8.3, median 2.45, MAD 0.15: 26.3055. Source: Iglewicz & Hoaglin 1993, from memory.
create or replace temp macro modified_z
    (x decimal(18, 6), med decimal(18, 6), mad decimal(18, 6)) as
        0.6745::double * cast(x - med as double) / nullif(cast(mad as double), 0);

-- Modified z-score of each element, in the order given: 1, 2, 4, 9 = -0.8993 -0.4497 0.4497 2.6980.
-- The median goes through a list of one, or it would be worked out again for every element.
create or replace temp macro modified_z_list(xs decimal(18, 6)[]) as
    list_transform(
        [{'med': list_median(xs), 'mad': list_mad(xs)}],
        lambda s: list_transform(xs, lambda x: modified_z(x, s.med, s.mad))
    )[1];

-- Median, and the MAD of the values at or below it and at or above it, for lopsided figures:
-- {med, left_mad, right_mad}. 1, 2, 3, 4, 9 = {3, 1, 1}.
-- Source: package plausi, Statistical Office of the canton of Zurich.
create or replace temp macro double_mad(xs decimal(18, 6)[]) as
    list_transform([list_median(xs)], lambda m: {
        'med': m,
        'left_mad': list_median(list_transform(
            list_filter(xs, lambda x: x <= m), lambda x: m - x
        )),
        'right_mad': list_median(list_transform(
            list_filter(xs, lambda x: x >= m), lambda x: x - m
        ))
    })[1];

-- Tukey's quartiles and fences: {q1, q3, inner_low, inner_high, outer_low, outer_high}, fences 1.5
-- and 3 times q3 - q1 outside the quartiles. Quartile method: medians of the lower and the upper
-- half, the middle value of an odd number in neither (Moore & McCabe). quantile_cont() interpolates
-- (R's type 7) and differs: 1, 2, 3, 4, 5, 6 gives 2 and 5 here, 2.25 and 4.75 there.
create or replace temp macro tukey_fences(xs decimal(18, 6)[]) as
    list_transform(
        list_transform([list_sort(list_filter(xs, lambda x: x is not null))], lambda s: {
            'q1': list_median(s[1:len(s) // 2]),
            'q3': list_median(s[len(s) - len(s) // 2 + 1:])
        }),
        lambda q: {
            'q1': q.q1,
            'q3': q.q3,
            'inner_low': cast(q.q1 - 1.5 * (q.q3 - q.q1) as decimal(18, 6)),
            'inner_high': cast(q.q3 + 1.5 * (q.q3 - q.q1) as decimal(18, 6)),
            'outer_low': cast(q.q1 - 3 * (q.q3 - q.q1) as decimal(18, 6)),
            'outer_high': cast(q.q3 + 3 * (q.q3 - q.q1) as decimal(18, 6))
        }
    )[1];

-- ---- boundaries of plots ------------------------------------------------------------------------

-- Area inside one ring "36.1 -1.2, 36.2 -1.2, ..." (longitude latitude, degrees, WGS 84), square metres:
-- the shoelace over the equal-area cylinder of the ellipsoid, x = a lon, y = a q / 2. Exact but for
-- sides that are straight there and not geodesics, which is nothing at the size of a plot.
-- Source: Snyder, Map Projections: A Working Manual (USGS 1395), eq. 3-12 and 10-6; ellipsoid
-- a = 6378137 m, 1/f = 298.257223563. The published checks compare it with geographiclib.
create or replace temp macro ring_area_m2(ring varchar) as
    list_transform(
        [list_transform(
            list_transform(
                string_split(ring, ','),
                lambda p: list_transform(
                    regexp_extract_all(p, '[-+0-9.eE]+'), lambda n: radians(try_cast(n as double))
                )
            ),
            lambda p: {'x': p[1], 'y': list_transform([sin(p[2])], lambda s:
                (1 - 0.0066943799901413165) * (
                    s / (1 - 0.0066943799901413165 * s * s)
                    - ln((1 - 0.08181919084262149 * s) / (1 + 0.08181919084262149 * s))
                    / (2 * 0.08181919084262149)
                ) / 2)[1]}
        )],
        lambda q: abs(list_sum(list_transform(range(1, len(q) + 1), lambda i:
            (q[i].x - q[1].x) * (q[i % len(q) + 1].y - q[1].y)
            - (q[i % len(q) + 1].x - q[1].x) * (q[i].y - q[1].y)
        ))) / 2 * 6378137.0::double * 6378137.0
    )[1];

-- Area of a GeoJSON or WKT polygon or multipolygon, longitude first, hectares with four places: outer
-- rings less holes. NULL for a point, for what cannot be read, and for no area.
create or replace temp macro boundary_ha(shape varchar) as
    list_transform(
        -- GeoJSON positions become "lon lat", its brackets those of WKT; an outer ring follows "((".
        [translate(regexp_replace(
            shape, '\[\s*([-+0-9.eE]+)\s*,\s*([-+0-9.eE]+)[^\[\]]*\]', '\1 \2', 'g'
        ), '[]', '()')],
        lambda t: cast(nullif(round((
            2 * coalesce(list_sum(list_transform(
                regexp_extract_all(t, '\(\s*\(([^()]*)\)', 1), lambda r: ring_area_m2(r)
            )), 0)
            - coalesce(list_sum(list_transform(
                regexp_extract_all(t, '\(([^()]*)\)', 1), lambda r: ring_area_m2(r)
            )), 0)
        ) / 10000, 4), 0) as decimal(14, 4))
    )[1];

-- ---- records beside the scale -----------------------------------------------------------------

-- What names a receipt as one number, by which rows are joined far sooner than by two texts and a number; NULL where
-- one of the three is. That two of a million receipts share one of 2^64 comes in one of 10^7 books.
create or replace temp macro receipt_of(station varchar, receipt_book varchar, receipt_no bigint) as
    case when station is not null and receipt_book is not null and receipt_no is not null
        then hash(station, receipt_book, receipt_no) end;

-- How unlike two weights of one delivery are, in hundredths of a natural logarithm of the odds: half
-- the square of the standard score, a third of `within_pct` percent being one deviation, with 250 g
-- of rounding. 61 kg beside 60 kg within 5 %: 47; beyond 10 t apart nothing is more unlike.
create or replace temp macro match_unlike
    (apart_g bigint, net_g bigint, within_pct decimal(14, 4)) as
        least(abs(apart_g), 10000000) * least(abs(apart_g), 10000000) * 50 // (
            cast(net_g * within_pct / 300 as bigint) * cast(net_g * within_pct / 300 as bigint) + 62500
        );

-- ---- slips of the pen ---------------------------------------------------------------------------

-- The place of the last digit of a weight as it is written, in grams: hundreds, or tens or single grams
-- where it has such. Then the places of all but its first digit: 61.2 kg has 100 and 1000.
create or replace temp macro last_place(g bigint) as
    case when g % 100 = 0 then 100 when g % 10 = 0 then 10 else 1 end;
create or replace temp macro digit_places(g bigint) as list_filter(
    list_transform(
        [0, 1, 2, 3, 4, 5],
        lambda n: cast(pow(10, n) * last_place(g) as bigint)
    ),
    lambda p: p * 10 <= g
);

-- Digits that are read for a digit. Common practice, no source: 0-6, 1-7, 2-7, 3-5, 3-8, 4-9, 5-6.
create or replace temp macro digits_alike(d bigint) as (
    [[6], [7], [7], [5, 8], [9], [3, 6], [0, 5], [1, 2], [3], [4]][d + 1]
);

-- What a weight in grams may have been before one slip of the pen: {slip, g}. "point": a place to the
-- left or right; "pounds": 1 lb is 0.45359237 kg exactly (agreement of 1959); "swapped": two neighbouring
-- digits changed round; "misread": one digit read for another that looks like it.
create or replace temp macro slips_undone(g bigint) as list_filter(
    list_concat(
        [
            {'slip': 'point', 'g': g * 10}, {'slip': 'point', 'g': div_half_away(g, 10::bigint)},
            {'slip': 'pounds', 'g': div_half_away(g * 45359237, 100000000::bigint)}
        ],
        list_transform(
            digit_places(g),
            lambda p: {
                'slip': 'swapped',
                'g': g + (g // (p * 10) % 10 - g // p % 10) * p
                    + (g // p % 10 - g // (p * 10) % 10) * p * 10
            }
        ),
        flatten(list_transform(
            list_concat(digit_places(g), [coalesce(list_max(digit_places(g)) * 10, last_place(g))]),
            lambda p: list_transform(
                digits_alike(g // p % 10), lambda d: {'slip': 'misread', 'g': g + (d - g // p % 10) * p}
            )
        ))
    ),
    lambda s: s.g > 0 and s.g <> g
);

-- ---- chance: tails of distributions, DOUBLE -------------------------------------------------------

-- Chance that chi-square of 7 degrees of freedom is x or more: 14.0671 = 0.05. Closed form for odd degrees
-- with the normal tail of Abramowitz and Stegun 26.2.17 (error below 1e-7); checked against scipy.
create or replace temp macro chi_square_7_tail(x double) as
    exp(-x / 2) / sqrt(2 * pi()) * 2 * (
        list_transform(
            [1 / (1 + 0.2316419 * sqrt(x))],
            lambda t: t * (0.319381530 + t * (-0.356563782 + t * (1.781477937
                + t * (-1.821255978 + t * 1.330274429))))
        )[1]
        + sqrt(x) * (1 + x / 3 + x * x / 15)
    );

-- Chance of exactly k of n that each come with chance p; p in (0, 1), 0 <= k <= n. 2 of 20 at 0.1 = 0.28518.
create or replace temp macro binomial_term(k bigint, n bigint, p double) as exp(
    lgamma(cast(n + 1 as double)) - lgamma(cast(k + 1 as double)) - lgamma(cast(n - k + 1 as double))
    + k * ln(p) + (n - k) * ln(1 - p)
);

-- Chance of k or fewer, and of k or more, of n that each come with chance p; p in (0, 1), 0 <= k <= n.
-- 2 or fewer of 20 at 0.1 = 0.676927; 2 or more = 0.608253. Checked against scipy.
create or replace temp macro binomial_at_most(k bigint, n bigint, p double) as least(
    1.0,
    list_sum(list_transform(range(0, k + 1), lambda i: binomial_term(i, n, p)))
);
create or replace temp macro binomial_at_least(k bigint, n bigint, p double) as least(
    1.0,
    coalesce(list_sum(list_transform(range(k, n + 1), lambda i: binomial_term(i, n, p))), 0.0)
);

-- Chance that three independent chances are together as small as these (Fisher's method): chi-square of
-- 6 degrees of freedom, in closed form. 0.05 three times = 0.006312. Checked against scipy.
create or replace temp macro fisher_of_three(p1 double, p2 double, p3 double) as list_transform(
    [-ln(greatest(p1, 1e-300)) - ln(greatest(p2, 1e-300)) - ln(greatest(p3, 1e-300))],
    lambda y: exp(-y) * (1 + y + y * y / 2)
)[1];

-- Chance that Student's t of so many degrees of freedom (15 or more) lies as far from 0 as t, either way; above
-- it by up to a fifth where t is 2.5 or more. Wallace's normal z of t (Annals of Mathematical Statistics 30, 1959, from memory), and
-- Mills's bound of the normal tail, density over z. 5.566 of 24 = 0.0000106. Checked against scipy.
create or replace temp macro student_beyond(t double, df bigint) as list_transform(
    [greatest(sqrt(df * ln(1 + t * t / df)) * (8 * df + 1) / (8 * df + 3), 1e-6)],
    lambda z: least(1.0, sqrt(2 / pi()) * exp(-z * z / 2) / z)
)[1];

-- ---- trees by age -------------------------------------------------------------------------------

-- What a tree bears of its full crop, percent, by its age in years: 3 = 30, 5 = 70, 7 to 20 = 100, 30 = 70.
-- Source: trade texts put the first crop at 3 to 4 years, full bearing at 6 to 8 and the decline after
-- about 20; the steps between, 3 % a year of decline and the floor of 50 are common practice, no source.
create or replace temp macro bearing_pct(age integer) as case
    when age is null then null
    when age < 3 then 0
    when age < 7 then [30, 50, 70, 85][age - 2]
    when age <= 20 then 100
    else greatest(50, 100 - 3 * (age - 20))
end;

-- The class of a block's age for tables: 2 = young, 5 = rising, 12 = full, 25 = old.
create or replace temp macro age_class(age integer) as case
    when age is null then 'not known'
    when age < 3 then 'young'
    when age < 7 then 'rising'
    when age <= 20 then 'full'
    else 'old'
end;

-- How the wood of a block is renewed. From year seven on one main stem in three is cut each year (common
-- practice): "renewed" where stems were cut within three years, "overdue" where longer ago, "not recorded"
-- where no year is written down, "stumped" within two years, "not due" before year seven.
create or replace temp macro wood_of
    (age integer, pruned_year integer, stumped_year integer, this_year integer) as case
    when stumped_year >= this_year - 2 then 'stumped'
    when age is null then 'not known'
    when age < 7 then 'not due'
    when pruned_year >= this_year - 3 then 'renewed'
    when pruned_year is not null then 'overdue'
    else 'not recorded'
end;

-- Kilograms of green a tree that are expected of a block: a mature block's kg a hectare over its own trees
-- a hectare, by age; wood that is overdue bears 15 % less, stumped wood a fifth (common practice, no
-- source). 700 kg/ha on 0.5 ha with 650 trees of 10 years, renewed: 0.538. NULL without area or trees.
create or replace temp macro expected_per_tree_kg
    (per_ha decimal(14, 4), area_ha decimal(14, 4), trees bigint, age integer, wood varchar) as
    kg_from_grams(cast(div_half_away(
        cast(per_ha * 1000 as hugeint) * cast(area_ha * 10000 as bigint) * bearing_pct(age)
        * case wood when 'overdue' then 85 when 'stumped' then 20 else 100 end,
        cast(nullif(greatest(trees, 0), 0) as hugeint) * 100000000
    ) as bigint));

-- A DECIMAL as it is written by hand, no noughts after its last digit: 25.0000 is 25, 0.0250 is 0.025.
create or replace temp macro plain_digits(x) as
    case when contains(cast(x as varchar), '.') then rtrim(rtrim(cast(x as varchar), '0'), '.') else cast(x as varchar) end;
