-- Grain: one row per settled pair of a record that says what it was written from: how far it is from what
-- was weighed, as the logarithm of their quotient, beside what is usual between the two. A member's
-- balance may always read a little off.
create or replace temp table match_apart as
with off as (
    select
        p.record_no, w.member_no, r.written_from, cast(ln(r.kg_g / w.net_g) as decimal(18, 6)) as off_ln
    from match_pairs as p
    inner join match_records as r on r.record_no = p.record_no
    inner join match_weighed as w on w.weighed_no = p.weighed_no
    where p.standing = 'settled' and r.written_from is not null
),
usual as (
    select
        member_no, written_from, case when count(*) >= 5 then median(off_ln) else 0 end as usual_ln
    from off
    group by member_no, written_from
)
select o.record_no, o.off_ln - u.usual_ln as apart_ln
from off as o
inner join usual as u on u.member_no = o.member_no and u.written_from = o.written_from
