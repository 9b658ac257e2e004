-- Grain: one row per village and month with soil tests on visits: members, tests, lowest, middle and highest
-- quarter of the pH.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select
    l.village, cast(date_trunc('month', v.day) as date) as month,
    count(distinct v.member_no) as members, count(*) as tests,
    cast(median(v.soil_ph) as decimal(14, 1)) as middle_ph
from visits as v
inner join latest as l on l.member_no = v.member_no
where v.state = 'counted' and (v.soil_ph is not null or v.soil_test is not null)
group by all
order by l.village, month
