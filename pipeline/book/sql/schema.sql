-- Grain: the tables of a season file beside the typed tables, which are made from the kinds' declarations.
-- Every kind has a table rows_<kind>: sheet_no, row_no, its columns; and a view <kind>: the same with
-- state. Weights DECIMAL(14,3) kg, money BIGINT minor units.

create type row_state as enum ('counted', 'held', 'sent_back', 'replaced', 'left_out');

-- One row: what this file is and how far it has been brought.
create table file_facts (
    schema_no integer not null,
    season varchar not null,
    journal_n bigint not null,
    journal_hash varchar not null,
    settings_hash varchar not null,
    makings_hash varchar not null,
    -- Not whole: states and money are of that line; what compares rows with each other waits to be worked out.
    whole boolean not null
);

-- One row per sheet taken into this season, in the order of the journal.
create table sheets (
    sheet_no integer primary key,
    sha256 varchar not null,
    name varchar not null,
    kind varchar,
    station varchar,
    week varchar,
    recorder varchar,
    slot varchar,
    version integer not null,
    taken_day date not null,
    arrived bigint not null,
    reader varchar,
    -- The column of the kind under each heading, as written: {"net_kg": "Net kg"}.
    headings json,
    -- Why it is not read, or lacks columns: {"code": "damaged", "details": []}.
    problem varchar,
    -- That of its headings, else of whoever sent it: in which it is answered.
    language varchar not null default 'en',
    -- Its worksheet or archive member; '' where the file is the sheet.
    part varchar not null default '',
    encoding varchar not null default '',
    -- Rows that it does not repeat are not gone: it only adds to the versions before it.
    only_adds boolean not null default false,
    -- What was noticed while reading: [{"code": "totals-row", "details": ["41"], "row_no": 41}].
    notes json not null default '[]'
);

-- One row per cell that could not be read as its column's type; its row is sent back.
create table unreadable (
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    col varchar not null,
    value varchar,
    reason varchar not null
);

-- One row per number that was brought to its column's unit from another: 135 lb is 61.235 kg.
create table converted (
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    col varchar not null,
    unit varchar not null
);

-- One row per row of a correction sheet: the row it fills, or none where it names none that waited.
create table fills (
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    of_sheet_no integer,
    of_row_no integer
);

-- One row per row of an earlier version: the row that took its place, or none where it is gone from the later one.
create table succession (
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    by_sheet_no integer not null,
    by_row_no integer
);

-- One row per row that is not counted, with the one state it is in; every other row is counted.
-- aside: following the coffee set it aside.
create table exceptions (
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    state row_state not null,
    aside boolean not null default false
);

-- One row per row that cannot be counted and is gone from the later version of its sheet, where a new
-- row stands on its line: that row is the mended one.
create table superseded (kind varchar not null, sheet_no integer not null, row_no integer not null);

-- One row per step of the working out and source that it read: in which version, when it last ran; a row
-- with no source says what else its result hangs on.
create table worked (step varchar not null, source varchar not null, version varchar not null);

-- One row per sheet, and per decision, that the season was last worked out from.
create table seen_sheets (sheet_no integer not null);
create table seen_decisions (
    decision_n bigint not null, flag varchar not null, kind varchar not null, sheet_no integer not null, row_no integer not null
);
-- One row per row that changed before and that steps which wait have not looked at.
create table touched_waiting (kind varchar not null, sheet_no integer not null, row_no integer not null);

-- One row each: the day on which the first and the last sheet came in.
create view first_taken as select min(taken_day) as taken_day from sheets;
create view last_taken as select max(taken_day) as taken_day from sheets;

-- One row per member number that fails its check digit.
create table numbers_off (member_no varchar not null);

-- One row per member of whom the register has a row that is counted or held.
create table known_members (member_no varchar, name varchar, station varchar);

-- One row per setting of book.toml that SQL looks at.
create table stations (station varchar primary key, name varchar not null, zone varchar);
create table scales (
    scale varchar primary key, station varchar not null, capacity_kg decimal(14, 3) not null,
    interval_kg decimal(14, 3) not null, class varchar not null, verified date
);
create table meters (meter varchar primary key, station varchar not null, method varchar not null);
create table declared_seasons (season varchar primary key);
create table season_days (season varchar not null, first_day date not null, last_day date not null);

-- One row per species and form: how many kilograms of it make one of green coffee, and by what.
create table green_basis (
    species varchar not null, form varchar not null, per_green decimal(14, 4), basis varchar not null,
    measured_kg decimal(14, 3), primary key (species, form)
);

-- How a record and a delivery agree, in the words of `match_candidates.sql`; and why they are taken for the same.
create type match_standing as enum ('settled', 'interchangeable');
create type match_receipt as enum ('same', 'number', 'slip', 'none', 'shared', 'other');
create type match_weight as enum ('equal', 'within', 'tenfold', 'pounds', 'digit', 'far');
create type match_why as enum (
    'receipt', 'receipt-member-slip', 'receipt-coffee-differs', 'receipt-weight-differs', 'receipt-weight-slip',
    'receipt-day-differs', 'receipt-slip', 'receipt-slip-weight-differs', 'receipt-and-weight-slip',
    'member-day-weight', 'member-day-weight-differs', 'member-day-weight-slip', 'member-next-day-weight'
);

-- One row per pair: a member's own record and the delivery that the station weighed (its receipt; the
-- place is that of its first line), why they are taken for the same and how far they are apart.
-- standing: settled, or interchangeable where rows that are alike could change partners and nothing
-- would hang on it. pct_apart: record less scale, percent of the scale.
-- independent: not copied from the receipt, and not written by whoever weighed. scale: of the first line.
-- apart_ln: of settled pairs, by how much the logarithm of record over scale is beside what is usual in that
-- member's records written from the same.
create table matched (
    record_sheet_no integer not null, record_row_no integer not null,
    weighed_sheet_no integer not null, weighed_row_no integer not null,
    member_no varchar using compression uncompressed, station varchar, day date,
    receipt_book varchar, receipt_no bigint, lines integer not null,
    record_kg decimal(14, 3) not null, net_kg decimal(14, 3) not null, pct_apart decimal(14, 1) not null,
    why match_why not null, receipt_is match_receipt not null, weight_is match_weight not null,
    standing match_standing not null, written_from varchar, weighed_by varchar,
    independent boolean not null, scale varchar, apart_ln decimal(18, 6)
);

-- One row per member's record, or weighed delivery of a member who keeps records, without a partner.
-- side: record, weighing. because: no-candidate, unsure, cannot-be-told-apart. nearest: up to three
-- of the other side, the nearest first, as JSON. receipt_due: the record names a receipt, and the station has
-- weighings of that day or later; receipt_unknown: and none of that receipt.
create table unmatched (
    side varchar not null, sheet_no integer not null, row_no integer not null,
    member_no varchar, station varchar, day date, species varchar, form varchar,
    receipt_book varchar, receipt_no bigint, kg decimal(14, 3) not null,
    written_from varchar, because varchar not null, receipt_due boolean not null, receipt_unknown boolean not null,
    nearest json not null
);

-- One row per two members, one of them null where a row names none, of whom a record of the second names a receipt
-- that is weighed in under the first, or that a record of the first names as well: in any version of their sheets.
create table receipts_shared (member_no varchar, other_no varchar);

-- One row per plot whose boundary lies over that of a plot that was sent in before it: the one of which it
-- covers most. Hectares; smaller_ha: of the smaller of the two.
create table plot_overlaps (
    sheet_no integer not null, row_no integer not null, other_member_no varchar not null,
    other_plot_no varchar, overlap_ha decimal(14, 4) not null, smaller_ha decimal(14, 4) not null,
    others integer not null
);

-- One row per flag: what a rule found on one cell or row, with its evidence.
create table flags (
    flag varchar not null,
    rule varchar not null,
    severity varchar not null,
    kind varchar not null,
    sheet_no integer not null,
    row_no integer not null,
    row_key varchar not null,
    col varchar not null,
    value varchar,
    facts json not null,
    value_hash varchar not null,
    measure decimal(18, 4),
    holds_to decimal(18, 4),
    kg_at_stake decimal(14, 3),
    minor_at_stake bigint,
    decision varchar,
    decision_n bigint
);

-- One row per decision on one flag that concerns this season and stands; a line of the journal may
-- decide many flags alike.
create table decisions (
    decision_n bigint not null, flag varchar not null, rule varchar not null, kind varchar not null,
    sheet_no integer not null, row_no integer not null, row_key varchar not null, col varchar not null,
    value_hash varchar not null, holds_to decimal(18, 4), action varchar not null, new_value varchar, old_value varchar, because varchar not null, decided_by varchar not null,
    decided_at varchar not null,
    -- Of a value with a unit of its own: what it reads in the column's, the unit, and its factor.
    reads varchar, unit varchar, worth varchar, primary key (decision_n, flag)
);

-- One row per member, species and form delivered: counted coffee only. priced_minor is the value of the weighings
-- among it that a price was found for, and best_minor what their paid kilograms would be worth at the best price
-- (grade and moisture) that the same list has for their form; null where there are none.
create table member_coffee (
    member_no varchar not null, species varchar not null, form varchar not null,
    deliveries bigint not null, net_kg decimal(14, 3) not null, gbe_kg decimal(14, 3) not null, value_minor bigint not null,
    priced_minor bigint, best_minor bigint
);

-- One row per member and species that has plots: trees standing and bearing against what was delivered.
create table member_yield (
    member_no varchar not null, species varchar not null,
    trees bigint, trees_bearing bigint, area_ha decimal(14, 4),
    gbe_kg decimal(14, 3) not null,
    gbe_per_tree_kg decimal(14, 3), gbe_per_ha_kg decimal(14, 1)
);

-- One row per weighed step of a lot, weights in grams; what the step may give, and the difference named.
create table lot_steps (
    lot_no varchar not null, seq integer not null, line bigint not null, steps varchar not null,
    station varchar, begun_on date not null, day date not null, species varchar, form_before varchar, form_after varchar,
    from_lots varchar, in_g bigint, out_g bigint not null, low_g bigint, high_g bigint,
    moisture_before decimal(14, 4), moisture_after decimal(14, 4),
    water_g bigint, parts_g bigint, sorted_g bigint, handling_g bigint, loss_g bigint, gain_g bigint,
    handling_bp bigint, opens boolean not null, wets boolean not null, dries boolean not null,
    waits boolean not null, sheet_no integer not null, row_no integer not null
);

-- One row per movement of coffee into (+) or out of (-) what lies at a station in one form and lot ('' =
-- no lot), grams. what: opening, bought, returned, drawn (between lots), moved (between stations),
-- processed (from form to form), water, parts, sorted, handling, loss, gain, sold, uncarded (sold though
-- no lot has a card, so that nobody can say what it was made from).
create table coffee_moves (
    move_no integer primary key, day date not null, station varchar not null, species varchar not null,
    form varchar not null, lot_no varchar not null, what varchar not null, grams bigint not null,
    kind varchar, sheet_no integer, row_no integer
);

-- One row per holder of coffee (a lot or stock still there, a sale, or what was lost) and day's coffee taken
-- in that is part of it, in grams as taken in. Over all holders they add up to what was taken in.
-- day: when it was sold or lost.
create table coffee_origins (
    holder varchar not null, station varchar, species varchar not null, form varchar not null, lot_no varchar not null,
    day date, sale_sheet_no integer, sale_row_no integer,
    origin_station varchar not null, origin_form varchar not null, origin_lot_no varchar not null, origin_day date, grams bigint not null
);

-- One row per row of a lot's card, sale or stock count that cannot stand as the coffee was then.
create table coffee_aside (
    kind varchar not null, sheet_no integer not null, row_no integer not null, day date not null,
    why varchar not null, about varchar not null, there_kg decimal(14, 3)
);

-- At most one row: the day up to which coffee need not be followed again where all before it, of which `before`
-- is a digest, is as it was; and the lots of which a step was done by then, that are stopped, that are wet.
create table coffee_halt (
    day date not null, before varchar not null,
    entered varchar[] not null, stopped varchar[] not null, wet varchar[] not null
);

-- One row per place where coffee lay at that day's beginning and day's coffee taken in that is part of it, in the
-- order (turn) in which it came there. grams: of the whole heap; origin_g as taken in.
create table coffee_heaps (
    turn integer not null, station varchar not null, species varchar not null, form varchar not null,
    lot_no varchar not null, grams bigint not null, origin_station varchar, origin_species varchar,
    origin_form varchar, origin_lot_no varchar, origin_day date, origin_g bigint
);
