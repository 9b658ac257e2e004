-- Grain: one row per member in the register: whether the member may vote by the rule set ($least_shares,
-- $least_kg of green bean equivalent, a member since $since, still one on $day), and if not, why.
with register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name, max_by(village, (sheet_no, row_no)) as village,
        max_by(joined, (sheet_no, row_no)) as joined, max_by(shares, (sheet_no, row_no)) as shares,
        max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
)
select
    r.member_no, r.name, r.village, r.joined, r.shares, s.gbe_kg,
    case
        when r.left_on <= $day then 'left on ' || r.left_on
        when r.joined > $since then 'joined on ' || r.joined
        when coalesce(r.shares, 0) < $least_shares then coalesce(r.shares, 0) || ' shares'
        when s.gbe_kg < $least_kg then s.gbe_kg || ' kg delivered'
    end as why_not
from register as r
inner join member_season as s on s.member_no = r.member_no
order by r.village, r.member_no
