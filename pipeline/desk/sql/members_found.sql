-- Grain: one row per member of the register whose number or name holds $wanted, small letters.
select member_no, name, station
from known_members
where contains(lower(member_no), $wanted) or contains(lower(name), $wanted)
order by member_no
limit 40
