-- Grain: one row per member of whom one deduction ($deduction) could not take all yet.
insert into untaken
select member_no, $deduction, cast(sum(amount_minor) as bigint)
from (
    select member_no, wanted_minor - taken_minor as amount_minor from step
    union all
    select member_no, owed_minor from debts where position = $position
) as due
group by member_no
having sum(amount_minor) <> 0
