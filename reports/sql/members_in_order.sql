-- Grain: one row per member of the register, in the order of issue: village, then number.
with latest as (
    select member_no, name, village, station, language
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select latest.member_no, latest.name, latest.village, latest.station, latest.language
from latest
join member_season using (member_no)
where $members is null or list_contains($members::varchar[], latest.member_no)
order by latest.village, length(latest.member_no), latest.member_no
