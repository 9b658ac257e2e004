-- Grain: one row per member of a village, those not visited for longest first: last visit and what was
-- agreed, trainings, bearing trees, yield in kg of green bean equivalent a bearing tree. No money.
with here as (select member_no, name from quick.people where village = $village),
visited as (
    select
        member_no, max(day) as last_visit,
        max_by(finding, (day, row_no)) as finding,
        max_by(agreed, (day, row_no)) as agreed,
        max_by(follow_up_on, (day, row_no)) as follow_up
    from visits
    where state = 'counted' and member_no in (select member_no from here)
    group by member_no
),
trained as (
    select member_no, string_agg(distinct replace(cast(topic as varchar), '_', ' '), ', ') as topics
    from training
    where state = 'counted' and member_no in (select member_no from here)
    group by member_no
),
yields as (
    select
        member_no, cast(sum(trees_bearing) as bigint) as trees_bearing,
        max_by(gbe_per_tree_kg, gbe_kg) as per_tree
    from member_yield
    where member_no in (select member_no from here)
    group by member_no
)
select
    h.member_no, h.name, v.last_visit, v.finding, v.agreed, v.follow_up, t.topics,
    y.trees_bearing, y.per_tree
from here as h
left join visited as v on v.member_no = h.member_no
left join trained as t on t.member_no = h.member_no
left join yields as y on y.member_no = h.member_no
order by v.follow_up nulls last, v.last_visit nulls first, h.member_no
