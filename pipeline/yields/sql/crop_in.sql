-- Grain: one row per member and species with coffee: kg green in so far.
select member_no, species, cast(sum(gbe_kg) as double) as in_kg
from (select member_no, species, gbe_kg from member_coffee order by member_no, species, form)
group by member_no, species
order by member_no, species
