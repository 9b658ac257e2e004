-- Grain: one row per member of the register with a telephone, as the latest sheet has it.
with latest as (
    select member_no, phone
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
)
select member_no, phone
from latest
where phone is not null
order by member_no
