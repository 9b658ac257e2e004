-- Grain: one row per member of the register whose number or name holds $wanted, small letters.
select member_no, name, station
from quick.known
where contains(found_by, $wanted)
order by member_no
limit 40
