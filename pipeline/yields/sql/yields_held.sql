-- Grain: one row per reason why coffee has no yield a tree: members, kg green that it is.
select held, count(distinct member_no) as members, cast(sum(gbe_kg) as decimal(18, 3)) as gbe_kg
from block_yield
where held is not null and held <> 'no-coffee' and (plot_no = '' or gbe_kg > 0)
group by held
order by gbe_kg desc, held
