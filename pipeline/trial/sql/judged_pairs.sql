-- Grain: one row per pair that was made, beside the true partner of its record.
create or replace temp table judged_pairs as
select
    m.record_row_no, m.weighed_row_no, m.why, m.standing,
    coalesce(t.weighed_row_no = m.weighed_row_no, false) as is_true
from matched as m
left join truth as t on t.record_row_no = m.record_row_no;
