-- Grain: one row, a member of the register by number; none where nobody has it.
select member_no, name, station
from quick.known
where member_no = $member
order by member_no
