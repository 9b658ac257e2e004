-- Grain: one row per lot whose steps may be others than those that are kept: of cards and weighings that are touched,
-- and of rows that following the coffee set aside ($codes, the rules of that stage).
create or replace temp table lots_touched as
select r.lot_no
from rows_lots as r
inner join touched as t on t.kind = 'lots' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
union
select r.lot_no
from rows_weighings as r
inner join touched as t on t.kind = 'weighings' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
union
select r.lot_no
from rows_lots as r
inner join flags as f on f.kind = 'lots' and f.sheet_no = r.sheet_no and f.row_no = r.row_no
where list_contains($codes, f.rule)
