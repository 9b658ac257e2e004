-- Grain: one row: one deduction ($one) of one member ($member), minor units; no row where neither the book
-- declares it nor the member has it.
select cast(coalesce(sum(t.amount_minor), 0) as bigint) as value
from member_season as s
left join transfers as t
    on t.member_no = s.member_no and t.what = 'deduction' and t.to_account = 'deduction:' || $one
where s.member_no = $member
    and (t.amount_minor is not null or $one in (select deduction from deductions))
group by s.member_no
