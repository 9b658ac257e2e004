-- Grain: one row per member's own record that somebody left out, but for what its match showed: a row so
-- left out goes on taking part, or the match and the decision would chase each other.
create view records_left_out as
select sheet_no, row_no
from decisions
where kind = 'deliveries'
    and rule not in ('record-differs', 'receipt-copy-differs', 'receipt-not-weighed')
group by sheet_no, row_no
having max_by(action, decision_n) = 'leave-out';
