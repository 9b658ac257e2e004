-- Grain: one row per lot whose steps may be others than those that are kept: of cards and weighings that are touched.
select r.lot_no
from rows_lots as r
inner join touched as t on t.kind = 'lots' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
where r.lot_no is not null
union
select r.lot_no
from rows_weighings as r
inner join touched as t on t.kind = 'weighings' and t.sheet_no = r.sheet_no and t.row_no = r.row_no
where r.lot_no is not null
