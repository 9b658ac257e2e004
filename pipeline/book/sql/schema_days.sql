-- Grain: the small tables of what lies in a day, a week or a sheet, by which rules compare with a whole season.

-- One row per sheet of weighings, station and receipt book that it has rows of, and one per sheet, station and day (with
-- no book): where to look for the rows of a book or day.
create table weighed_sheets (sheet_no integer not null, station varchar, receipt_book varchar, day date);

-- One row per station, recorder, scale and day: what the scale's readings end in, counted.
-- digits: how often each of 0 to 9; repeats: how often one is like that of the receipt line before.
create table scale_days (
    station varchar, recorder varchar, scale varchar not null, day date, place bigint not null,
    readings integer not null, repeats integer not null, digits integer[] not null
);

-- One row per station, recorder, form and week (its Monday) of counted weighings.
-- again: weights that are many and a large share of them, each with how often, its first place and its days.
create table weight_weeks (
    station varchar, recorder varchar, form varchar, week date, weighings bigint not null,
    again struct(net_kg decimal(14, 3), times bigint, place bigint, from_day date, to_day date)[] not null
);

-- One row per station, day, coffee and lot ('' = none) of weighings that are counted or held, in grams.
-- counted_g: of the counted ones, of which returned_g was sorted out after the weight was read and given back;
-- taken_g: of both. read_g: of the counted ones whose moisture was read, read_g_pct times hundredths of its per cent.
-- heaviest_bag_kg: the most that a bag weighed, of the counted ones.
create table coffee_days (
    station varchar, day date, species varchar, form varchar, lot_no varchar not null,
    counted_g bigint, returned_g bigint not null, taken_g bigint, read_g bigint, read_g_pct hugeint,
    heaviest_bag_kg double
);

-- One row per station, recorder, form and day of counted weighings that were read for moisture: how many, the first
-- of them, and each reading with how often and where it first was.
create table moisture_days (
    station varchar, recorder varchar, form varchar, day date, readings bigint not null, place bigint not null,
    each struct(moisture_pct decimal(5, 2), times bigint, place bigint)[] not null
);
