-- Grain: one row per village: its members, visits, trainings, and yield so far; kg of green bean
-- equivalent a bearing tree, arabica and robusta apart. No money.
with visited as (
    select member_no, count(distinct day) as visits, max(day) as last_visit
    from visits
    where state = 'counted'
    group by member_no
),
trained as (
    select member_no, count(*) as trainings, max(day) as last_training
    from training
    where state = 'counted'
    group by member_no
),
yields as (
    select
        member_no,
        cast(max(gbe_per_tree_kg) filter (species = 'arabica') as decimal(14, 3)) as arabica,
        cast(max(gbe_per_tree_kg) filter (species = 'robusta') as decimal(14, 3)) as robusta
    from member_yield
    where trees_bearing > 0 and gbe_per_tree_kg > 0
    group by member_no
)
select
    p.village,
    count(*) as members,
    count(v.member_no) as visited,
    max(v.last_visit) as last_visit,
    count(t.member_no) as trained,
    max(t.last_training) as last_training,
    count(y.member_no) as with_yield,
    cast(round(quantile_cont(y.arabica, 0.5), 3) as decimal(14, 3)) as arabica,
    cast(round(quantile_cont(y.robusta, 0.5), 3) as decimal(14, 3)) as robusta
from quick.people as p
left join visited as v on v.member_no = p.member_no
left join trained as t on t.member_no = p.member_no
left join yields as y on y.member_no = p.member_no
group by p.village
order by p.village
