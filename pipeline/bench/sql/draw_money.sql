-- Grain: a drawn season of deliveries of members, two price lists, payments and
-- inputs on credit. Drawn by hash, so that it is the same on any machine.
insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived)
select n, 'drawn', kind, kind, kind, 1, date '2026-10-04', arrived
from (
    values (1, 'weighings', $deliveries), (3, 'prices', 12), (4, 'members', $members),
        (5, 'credit', $members // 3), (6, 'payments', $members)
) as s (n, kind, arrived);
insert into filled_prices by name
select
    3 as sheet_no, row_number() over () as row_no, d as from_day, species, form, grade,
    cast(0.6 + 0.1 * (row_number() over () % 7) as decimal(14, 4)) as price_per_kg, 'PL' as list_no
from (values (date '2026-03-30'), (date '2026-06-29')) as days (d),
    (values ('arabica', 'fresh_cherry'), ('arabica', 'parchment'), ('robusta', 'dry_cherry')) as c (species, form),
    (values ('1'), ('2')) as g (grade);
insert into filled_members by name
select 4 as sheet_no, n as row_no, cast(n as varchar) as member_no, 'Member ' || n as name, 'KES' as station
from range(1, $members + 1) as r (n);
insert into filled_weighings by name
select
    1 as sheet_no, n as row_no, 'S' || (n % 200) as station,
    date '2026-03-30' + cast(hash(n) % 180 as integer) as day, 'B' || (n // 1000) as receipt_book,
    n as receipt_no, 1 as line, cast(1 + hash(n, 1) % $members as varchar) as member_no,
    case when hash(n, 2) % 4 = 0 then 'robusta' else 'arabica' end as species,
    case when hash(n, 2) % 4 = 0 then 'dry_cherry' when hash(n, 2) % 4 = 1 then 'parchment'
        else 'fresh_cherry' end as form,
    cast(1 + hash(n, 3) % 2 as varchar) as grade,
    cast((20 + hash(n, 4) % 1000) * 0.1 as decimal(14, 3)) as net_kg
from range(1, $deliveries + 1) as r (n);
insert into filled_credit by name
select
    5 as sheet_no, n as row_no, 'IN-' || n as note_no, 1 as line,
    date '2026-03-30' + cast(hash(n, 5) % 60 as integer) as day, cast(3 * n as varchar) as member_no,
    'inputs' as credit_kind, cast(1000 + hash(n, 6) % 20000 as bigint) as amount_minor
from range(1, $members // 3) as r (n);
insert into filled_payments by name
select
    6 as sheet_no, n as row_no, 'P-' || n as payment_no, date '2026-08-03' as day,
    cast(n as varchar) as member_no, cast(500 + hash(n, 7) % 3000 as bigint) as amount_minor, 'cash' as method
from range(1, $members + 1) as r (n);
insert into green_basis
select * from (values
    ('arabica', 'fresh_cherry', 6.0, 'factor', null), ('arabica', 'parchment', 1.25, 'factor', null),
    ('robusta', 'dry_cherry', 2.0, 'factor', null)) as b (species, form, per_green, basis, measured_kg);
