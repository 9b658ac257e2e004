-- Grain: one row per member of $members, and per member whom money was moved to or from, directly or
-- through others: what was moved stands on two accounts, which add up together.
with recursive between as (
    select member_no, other_member from money_entries where other_member is not null
    union
    select other_member, member_no from money_entries where other_member is not null
),
reached as (
    select unnest(cast($members as varchar[])) as member_no
    union
    select b.other_member
    from reached as r
    inner join between as b on b.member_no = r.member_no
)
select member_no
from reached
where member_no is not null
order by member_no
