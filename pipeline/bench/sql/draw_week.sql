-- Grain: one week of weighings more, and its sheet.
insert into sheets (sheet_no, sha256, name, kind, slot, version, taken_day, arrived)
values (2, 'drawn', 'week', 'weighings', 'week', 1, date '2026-10-04', $rows);
insert into filled_weighings by name
select
    2 as sheet_no, n as row_no, 'S' || (n % 200) as station,
    date '2026-09-28' + cast(hash(n) % 6 as integer) as day, 'W' || (n // 1000) as receipt_book,
    n as receipt_no, 1 as line, cast(1 + hash(n, 8) % $members as varchar) as member_no,
    'arabica' as species, 'parchment' as form, '1' as grade,
    cast((20 + hash(n, 9) % 1000) * 0.1 as decimal(14, 3)) as net_kg
from range(1, $rows + 1) as r (n)
