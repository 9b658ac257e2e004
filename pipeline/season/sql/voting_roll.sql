-- Grain: one row per member in the register: whether the member may vote by the rule set ($least_shares,
-- $least_kg of green bean equivalent, a member since $since, still one on $day), and if not, why: in English,
-- and as reason (left, joined, shares, kg) with its value.
with register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name, max_by(village, (sheet_no, row_no)) as village,
        max_by(joined, (sheet_no, row_no)) as joined, max_by(shares, (sheet_no, row_no)) as shares,
        max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
),
judged as (
    select
        r.member_no, r.name, r.village, r.joined, r.shares, s.gbe_kg, r.left_on,
        case
            when r.left_on <= $day then 'left'
            when r.joined > $since then 'joined'
            when coalesce(r.shares, 0) < $least_shares then 'shares'
            when s.gbe_kg < $least_kg then 'kg'
        end as reason
    from register as r
    inner join member_season as s on s.member_no = r.member_no
)
select
    member_no, name, village, joined, shares, gbe_kg, reason,
    case reason
        when 'left' then cast(left_on as varchar)
        when 'joined' then cast(joined as varchar)
        when 'shares' then cast(coalesce(shares, 0) as varchar)
        when 'kg' then cast(gbe_kg as varchar)
    end as reason_value,
    case reason
        when 'left' then 'left on ' || left_on
        when 'joined' then 'joined on ' || joined
        when 'shares' then coalesce(shares, 0) || ' shares'
        when 'kg' then gbe_kg || ' kg delivered'
    end as why_not
from judged
order by village, member_no
