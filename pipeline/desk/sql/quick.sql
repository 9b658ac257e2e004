-- Grain: tables for looks at one member or village, each in the order it is asked by. They stand in a
-- database in memory, before the season file in the search path, and are packed once they are made.
create table quick.people as
select member_no, name, village
from season_file.members
where state = 'counted'
qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
order by village, member_no;
create table quick.known as
select member_no, name, station, lower(concat_ws(' ', member_no, name)) as found_by
from season_file.known_members
order by member_no;
checkpoint quick;
