-- Grain: one row per member of whom the register has a row that is counted or held.
insert into known_members
select member_no, any_value(name), any_value(station)
from members
where state in ('counted', 'held')
group by member_no
