-- Grain: two tables: one row per pair that is kept, with its standing and what agrees, and one row
-- per row that cannot be told apart. From `match_plain`, `match_found` (pairs; settled or of a knot) and `match_knots` (the rows
-- of each knot). Where all records of a knot are alike, or all its weighings, any pairing says the
-- same: its pairs are kept as interchangeable. All others are left to a person.
create or replace temp table match_alike as
with content as (
    select k.knot, k.side, concat_ws('|', r.kg_g, r.day, r.station, r.form, r.species, r.written_from) as says
    from match_knots as k
    inner join match_records as r on k.side = 'record' and r.record_no = k.row_id
    union all
    select k.knot, k.side, concat_ws('|', w.net_g, w.day, w.station, w.form, w.species)
    from match_knots as k
    inner join match_weighed as w on k.side = 'weighing' and w.weighed_no = k.row_id
)
select knot
from content
group by knot
having count(distinct says) filter (where side = 'record') = 1
    or count(distinct says) filter (where side = 'weighing') = 1;

create or replace temp table match_pairs as
select
    record_no, weighed_no, 'settled'::match_standing as standing, 'same'::match_receipt as receipt_is, 'same' as member_is,
    true as same_coffee, 0 as days_apart, null as weight_is
from match_plain
union all
select
    f.record_no, f.weighed_no, case when f.settled then 'settled'::match_standing else 'interchangeable' end,
    c.receipt_is, c.member_is, c.same_coffee, c.days_apart, c.weight_is
from match_found as f
inner join match_candidates as c on c.record_no = f.record_no and c.weighed_no = f.weighed_no
left join match_alike as a on a.knot = f.knot
where f.settled or a.knot is not null;

create or replace temp table match_doubtful as
select distinct k.side, k.row_id
from match_knots as k
anti join match_alike as a on a.knot = k.knot;
