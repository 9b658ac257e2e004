-- Grain: one row where the costs in members' statements are not together what their farm records say; none where
-- they are.
select c.amount_minor as one, r.amount_minor as other
from (select sum(record_cost_minor) as amount_minor from member_season) as c
cross join (
    select sum(f.cost_minor) as amount_minor
    from farm_record as f
    inner join member_season as m on m.member_no = f.member_no
    where f.state = 'counted'
) as r
where coalesce(c.amount_minor, 0) <> coalesce(r.amount_minor, 0)
