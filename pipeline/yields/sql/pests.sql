-- Grain: one row per village, month and pest or disease that was looked for on visits: visits, members, what
-- was looked at and affected.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    l.village, cast(date_trunc('month', v.day) as date) as month, cast(v.pest as varchar) as pest,
    count(*) as visits, count(distinct v.member_no) as members,
    cast(sum(v.looked_at) as bigint) as looked_at, cast(sum(v.affected) as bigint) as affected
from visits as v
inner join latest as l on l.member_no = v.member_no
where v.state = 'counted' and v.pest is not null and v.pest <> 'none'
    and v.looked_at > 0 and v.affected is not null
group by all
order by l.village, month, pest
