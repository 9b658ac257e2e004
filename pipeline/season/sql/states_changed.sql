-- Grain: one row per row of a kind ($kind) whose state is another than in `states_before`, which holds
-- that kind's rows alone.
select coalesce(b.kind, e.kind) as kind, coalesce(b.sheet_no, e.sheet_no) as sheet_no, coalesce(b.row_no, e.row_no) as row_no
from states_before as b
full join (select * from exceptions where kind = $kind) as e
    on e.sheet_no = b.sheet_no and e.row_no = b.row_no
where b.state is distinct from e.state
