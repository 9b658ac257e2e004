-- Grain: two tables: one row per pair that is kept, with its standing, and one row per row that cannot
-- be told apart. From `match_found` (pairs; settled or of a knot) and `match_knots` (the rows
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
    f.record_no, f.weighed_no,
    case when f.settled then 'settled' else 'interchangeable' end as standing
from match_found as f
left join match_alike as a on a.knot = f.knot
where f.settled or a.knot is not null;

create or replace temp table match_doubtful as
select distinct k.side, k.row_id
from match_knots as k
anti join match_alike as a on a.knot = k.knot;
