-- Grain: one row per member and topic of a training this season: the first day of it.
select member_no, cast(topic as varchar) as topic, min(day) as first_day
from training
where state = 'counted'
group by member_no, topic
order by topic, member_no
