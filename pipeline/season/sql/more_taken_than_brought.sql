-- Grain: one row per weighing of which more is taken than it brought. None where the money adds up.
-- $members: whose weighings alone are looked at, null for everybody's.
with asked as (
    select unnest(cast($members as varchar[])) as member_no
)
select place_of(sheet_no, row_no) as place
from transfers
where kind = 'weighings'
    and ($members is null or member_no in (select member_no from asked))
group by place
having sum(case when to_account = 'member' then amount_minor else -amount_minor end) < 0
    and bool_or(what = 'deduction')
    and not bool_or(what = 'premium' and from_account = 'member')
