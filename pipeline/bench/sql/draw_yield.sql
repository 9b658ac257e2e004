-- Grain: a drawn season with plots, coffee, records, visits, training and earlier crops of its members.
insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived)
select n, 'drawn', kind, kind, kind, 1, date '2026-10-04', 0
from (values (1, 'members'), (2, 'plots'), (3, 'prices'), (4, 'weighings'), (5, 'farm_record'), (6, 'visits'),
    (7, 'training'), (8, 'past_crops')) as s (n, kind);
insert into filled_members by name
select 1 as sheet_no, n as row_no, cast(n as varchar) as member_no, 'Member ' || n as name,
    'Village ' || (n % 400) as village, 'S' || (n % 40) as station
from range(1, $members + 1) as r (n);
insert into filled_plots by name
select 2 as sheet_no, n as row_no, cast(1 + n % $members as varchar) as member_no, cast(n // $members as varchar) as plot_no,
    'arabica' as species, 1996 + hash(n) % 27 as planted_year, 400 + hash(n, 1) % 900 as trees,
    380 + hash(n, 2) % 20 as trees_bearing, 2 + hash(n, 3) % 2 as stems, cast(0.2 + 0.01 * (hash(n, 4) % 60) as decimal(14, 4)) as area_ha,
    case when hash(n, 5) % 2 = 0 then 2025 end as pruned_year, case hash(n, 6) % 3 when 0 then 'none' else 'some' end as shade,
    date '2026-03-01' as counted_on
from range(0, $members * 3 // 2) as r (n);
insert into filled_prices by name
select 3 as sheet_no, n as row_no, date '2026-03-30' as from_day, 'arabica' as species, 'parchment' as form,
    cast(n as varchar) as grade, cast(3.2 - 0.2 * n as decimal(14, 4)) as price_per_kg, 'PL' as list_no
from range(1, 3) as r (n);
insert into filled_weighings by name
select 4 as sheet_no, n as row_no, 'S' || (n % $members % 40) as station,
    date '2026-03-30' + cast(hash(n) % 180 as integer) as day, cast(1 + n % $members as varchar) as member_no,
    'arabica' as species, 'parchment' as form, cast(1 + hash(n, 3) % 2 as varchar) as grade,
    cast((200 + hash(n, 4) % 500) * 0.1 as decimal(14, 3)) as net_kg, 10.5 + (hash(n, 5) % 40) * 0.1 as moisture_pct,
    80 + hash(n, 6) % 20 as ripe_pct
from range(0, $members * 8) as r (n);
insert into valued
select sheet_no, row_no, p, 3, g, net_kg, cast(net_kg * 100 * p as bigint), cast(net_kg * 0.8 as decimal(14, 3)), false
from (
    select sheet_no, row_no, net_kg, cast(grade as integer) as g,
        cast(3.2 - 0.2 * cast(grade as integer) as decimal(14, 4)) as p
    from rows_weighings
);
insert into member_coffee
select
    w.member_no, w.species, w.form, count(*), sum(w.net_kg), sum(v.gbe_kg), sum(v.value_minor), sum(v.value_minor),
    -- The first grade's price.
    sum(cast(w.net_kg * 300 as bigint))
from rows_weighings as w inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
group by w.member_no, w.species, w.form;
insert into member_season by name
select member_no, true as registered, 0 as opening_minor, deliveries, gbe_kg, value_minor, 0 as premium_minor, 0 as second_minor,
    0 as other_minor, 0 as deducted_minor, 0 as paid_minor, value_minor as balance_minor, 0 as loan_minor,
    0 as shares_minor, 0 as untaken_minor, 0 as waiting_rows, 0 as waiting_kg, 0 as record_rows, 0 as record_weeks
from member_coffee;
insert into filled_farm_record by name
select 5 as sheet_no, n as row_no, cast(1 + n % ($members * 2 // 5) as varchar) as member_no,
    date '2026-03-30' + cast(hash(n) % 180 as integer) as day,
    cast(list_extract(['weeding', 'pruning', 'mulching', 'manuring', 'picking', 'tools', 'transport'], cast(1 + hash(n, 1) % 7 as bigint))
        as varchar) as activity,
    cast(0.5 * (1 + hash(n, 2) % 6) as decimal(14, 1)) as family_days, cast(100 + hash(n, 3) % 900 as bigint) as cost_minor
from range(0, $members * 4) as r (n);
insert into filled_visits by name
select 6 as sheet_no, n as row_no, cast(1 + n % $members as varchar) as member_no,
    date '2026-03-30' + cast(hash(n) % 180 as integer) as day, 'leaf_rust' as pest, 100 as looked_at,
    hash(n, 1) % 30 as affected, 'erosion_bands' as practice, case hash(n, 2) % 2 when 0 then 'yes' else 'no' end as practice_seen,
    'picking' as work, cast(500 + hash(n, 3) % 500 as bigint) as cost_minor
from range(0, $members) as r (n);
insert into filled_training by name
select 7 as sheet_no, n as row_no, date '2026-04-20' as day, case n % 3 when 0 then 'pruning' when 1 then 'drying' else 'picking' end as topic,
    cast(1 + n % $members as varchar) as member_no
from range(0, $members // 2) as r (n);
insert into filled_past_crops by name
select 8 as sheet_no, n as row_no, cast(1 + n % $members as varchar) as member_no, 'arabica' as species,
    make_date(2023 + n // $members, 10, 4) as ended_on, cast(150 + hash(n) % 200 as decimal(14, 3)) as green_kg,
    380 as trees_bearing, 20 as by_quarter_kg, 60 as by_half_kg, 120 as by_three_quarters_kg,
    cast(50000 + hash(n, 1) % 20000 as bigint) as value_minor, 72000 as value_best_minor
from range(0, $members * 3) as r (n);
insert into green_basis values ('arabica', 'parchment', 1.25, 'factor', null)
