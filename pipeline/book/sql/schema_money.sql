-- Grain: the tables of a season file that are about money alone. Money BIGINT minor units.

-- One row per deduction, in the order in which they are taken; takes: '' by percent or per kg, shares,
-- credit, charges.
create table deductions (
    position integer primary key, deduction varchar not null, name varchar not null, authority varchar not null,
    form varchar, percent decimal(7, 4), per_kg decimal(14, 4),
    takes varchar not null, until_minor bigint, keep_percent decimal(7, 4) not null
);

-- One row per premium or discount; null stands for all.
create table premiums (
    position integer primary key, premium varchar not null, name varchar not null, authority varchar not null,
    discount boolean not null, percent decimal(7, 4), per_kg decimal(14, 4), species varchar, form varchar,
    grade varchar, station varchar, certificate varchar, from_day date, until_day date,
    ripe_from decimal(7, 4), moisture_above decimal(7, 4)
);

-- One row per sheet that two people posted or signed for: what it holds and who they are.
create table posted (
    sha256 varchar not null, what varchar not null, posted_by varchar not null, second varchar not null,
    posted_at varchar not null, journal_n bigint not null
);

-- One row where the season is closed: the number of the last sheet that belongs to it.
create table closing (last_sheet integer not null, closed_by varchar not null, second varchar not null);

-- One row per weighing: what it is worth, on which weight, by which price row, and its green bean
-- equivalent. needs_moisture: no price, only because the list asks for a reading that is not there.
create table valued (
    sheet_no integer not null, row_no integer not null,
    price_per_kg decimal(14, 4), price_sheet_no integer, price_row_no integer,
    paid_kg decimal(14, 3), value_minor bigint, gbe_kg decimal(14, 3), needs_moisture boolean not null
);

-- In the order of their names, which is the order that a ledger is sorted in.
create type movement as enum (
    'adjustment', 'coffee', 'credit', 'deduction', 'kept', 'moved', 'opening', 'payment', 'premium', 'repayment',
    'second', 'shares', 'unclaimed'
);
create type money_kind as enum (
    'credit', 'money_entries', 'opening_balances', 'payments', 'season_so_far', 'second_payments', 'weighings'
);

-- One row per counted weighing: what it is worth to its member, and what each of the `deductions`, in their
-- order, takes of that.
create table settlements (
    member_no varchar not null, day date not null, sheet_no integer not null, row_no integer not null,
    value_minor bigint not null, deducted_minor bigint[] not null
);

-- One row per movement of money that is neither told by `settlements` nor a payment. The view `transfers`
-- is the ledger, with all of them.
create table movements (
    day date not null, what movement not null, from_account varchar not null, to_account varchar not null,
    member_no varchar not null, amount_minor bigint not null,
    kind money_kind not null, sheet_no integer not null, row_no integer not null
);

-- One row per member and deduction of which something could not be taken yet.
create table untaken (member_no varchar not null, deduction varchar not null, amount_minor bigint not null);

-- One row per member in the register, and per number with coffee or money that the register lacks (not
-- registered): the money and the farm record of the season. other_minor: corrections, balances moved,
-- shares paid back, unclaimed money; less where they are the member's debit.
create table member_season (
    member_no varchar not null,
    registered boolean not null,
    opening_minor bigint not null,
    deliveries bigint not null,
    gbe_kg decimal(14, 3) not null,
    value_minor bigint not null,
    premium_minor bigint not null,
    second_minor bigint not null,
    other_minor bigint not null,
    deducted_minor bigint not null,
    paid_minor bigint not null,
    balance_minor bigint not null,
    loan_minor bigint not null,
    shares_minor bigint not null,
    untaken_minor bigint not null,
    waiting_rows bigint not null,
    waiting_kg decimal(14, 3) not null,
    record_rows bigint not null,
    record_weeks bigint not null,
    record_cost_minor bigint,
    family_days decimal(14, 1),
    hired_days decimal(14, 1)
);
