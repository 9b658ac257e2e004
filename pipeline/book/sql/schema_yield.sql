-- Grain: the tables of a season file that are about trees, costs and margins. Kilograms green bean
-- equivalent DECIMAL(14,3), money BIGINT minor units.

-- One row per block (member and plot): what stands on it by its latest count, and its share of the
-- member's coffee. shared: the sheets do not say which block the coffee is from, and there are several
-- that bear; it is shared by bearing trees. A row with plot_no '' holds coffee that no block can have
-- borne. expected_*: the band of a block of this age, wood and density, kg green a bearing tree. held:
-- why there is no yield: no-plots, none-bearing, too-young, no-coffee; null where there is one.
create table block_yield (
    member_no varchar not null, plot_no varchar not null, species varchar not null,
    planted_year integer, age integer, age_class varchar not null, wood varchar not null,
    trees bigint, trees_bearing bigint, gaps bigint, area_ha decimal(14, 4),
    gbe_kg decimal(14, 3) not null, shared boolean not null,
    per_tree_kg decimal(14, 3), per_ha_kg decimal(14, 1),
    expected_low_kg decimal(14, 3), expected_high_kg decimal(14, 3), held varchar
);

-- One row per row of a farm record, visit or issue note that does not count among its member's costs, or is
-- doubtful; every other one counts. counts: no, where the member's own record holds the same work in the time
-- that a visit recalls, or the same item as a note. doubtful: a cost many times the usual one.
create table costs_apart (
    kind varchar not null, sheet_no integer not null, row_no integer not null,
    counts boolean not null, doubtful boolean not null
);

-- One row per member of the register: the season's margin. variable_minor: all costs but tools;
-- tools_minor: what was spent on tools, fixed_minor: a year's part of it. held: why no margin is
-- shown: (notes of inputs on credit alone are no record) nothing-recorded, no-cost, one-entry, cost-doubtful; null where there is one. Of the figures
-- a kilogram or a day, those are null whose divisor is not there.
create table member_margin (
    member_no varchar not null,
    gbe_kg decimal(14, 3) not null, value_minor bigint not null,
    record_rows bigint not null, visit_rows bigint not null, weeks_recorded bigint not null, weeks_recalled bigint not null,
    variable_minor bigint, tools_minor bigint, fixed_minor bigint, recalled_minor bigint, credit_minor bigint,
    family_days decimal(14, 1), hired_days decimal(14, 1),
    margin_minor bigint, after_fixed_minor bigint,
    cost_per_kg decimal(14, 4), price_per_kg decimal(14, 4),
    break_even_price decimal(14, 4), break_even_kg decimal(14, 3), per_family_day_minor bigint,
    waiting_rows bigint not null, held varchar
);
