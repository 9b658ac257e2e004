-- Grain: tables in memory for looks at one member or village; each in the order it is asked by.
create schema memory.quick;
create table memory.quick.past as
select member_no, day, net_kg, form, cast(state as varchar) as state, sheet_no, row_no
from weighings
where member_no is not null and state <> 'replaced'
order by member_no, day, sheet_no, row_no;
create table memory.quick.people as
select member_no, name, village
from members
where state = 'counted'
qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
order by village, member_no;
create table memory.quick.known as
select member_no, name, station, lower(concat_ws(' ', member_no, name)) as found_by
from known_members
order by member_no;
