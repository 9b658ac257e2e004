-- Grain: one row per lot whose steps may be others than those that are kept: the touched ones ($touched), and those of
-- rows that following the coffee set aside ($codes, the rules of that stage).
create or replace temp table lots_to_follow as
select unnest($touched::varchar[]) as lot_no
union
select r.lot_no
from rows_lots as r
inner join flags as f on f.kind = 'lots' and f.sheet_no = r.sheet_no and f.row_no = r.row_no
where list_contains($codes, f.rule)
