-- Grain: one row per weighing that names a member, in memory beside `quick.sql`'s, each member's together: a
-- look at one member then goes past no other's. Until it stands, the name is that of the file's view.
create table if not exists quick.weighings_valued as
select * from season_file.weighings_valued
order by member_no, day, sheet_no, row_no;
