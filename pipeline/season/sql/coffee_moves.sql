-- Grain: one row per move of coffee, in the order in which they were made, from `moves_now`; those up to the
-- first that is another, mostly nearly all, stay where they are.
create or replace temp table moves_same as
select coalesce(min(coalesce(n.move_no, m.move_no)), 2147483647) as until_no
from moves_now as n
full join coffee_moves as m on m.move_no = n.move_no
where n is distinct from m;

delete from coffee_moves
where move_no >= (select until_no from moves_same);

insert into coffee_moves
select *
from moves_now
where move_no >= (select until_no from moves_same)
order by move_no;

drop table moves_now;
