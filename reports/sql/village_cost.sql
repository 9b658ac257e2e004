-- Grain: one row per village with enough members whose costs are known: middle cost of a kilogram of green.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    latest.village, count(*) as members,
    round(quantile_cont(m.cost_per_kg, 0.5), 2)::decimal(14, 2) as cost_per_kg
from member_margin as m
join latest using (member_no)
where m.cost_per_kg is not null
group by latest.village
having count(*) >= $least
order by latest.village
