-- Grain: one row per member of whom a deduction may have to wait, and the position of the first that may: who
-- owes something, or has a weighing that does not bear all that is asked. A member too many here, or one too early,
-- costs time and changes nothing.
create or replace temp table waits as
select member_no, min(position) as position
from (
    select member_no, position from debts
    union all
    select member_no, 1 from earned_in where may_wait
)
group by member_no
