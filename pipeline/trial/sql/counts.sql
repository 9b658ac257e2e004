-- Grain: one row: the counts of a trial. What becomes of a true pair, first reason first: found;
-- interchangeable (its record or weighing is in such a pair); left to a person (its record or
-- weighing cannot be told apart); missed, and so are those whose record or weighing is wrongly paired.
with fate as (
    select
        exists (
            select 1 from judged_pairs as j
            where j.record_row_no = t.record_row_no and j.is_true and j.standing = 'settled'
        ) as found,
        exists (
            select 1 from judged_pairs as j
            where j.standing = 'interchangeable' and j.record_row_no = t.record_row_no
        ) or exists (
            select 1 from judged_pairs as j
            where j.standing = 'interchangeable' and j.weighed_row_no = t.weighed_row_no
        ) as alike,
        exists (
            select 1 from unmatched as u
            where u.because = 'cannot-be-told-apart' and u.side = 'record'
                and u.row_no = t.record_row_no
        ) or exists (
            select 1 from unmatched as u
            where u.because = 'cannot-be-told-apart' and u.side = 'weighing'
                and u.row_no = t.weighed_row_no
        ) as in_doubt
    from truth as t
)
select
    (select count(*) from rows_weighings) + (select count(*) from rows_deliveries) as rows,
    (select count(*) from match_records) as records,
    (
        select count(*)
        from (
            select distinct station, receipt_book, receipt_no, member_no, day, species, form
            from weighings
        )
    ) as weighed,
    count(*) as true_pairs,
    count(*) filter (where found) as found,
    (
        select count(*) from judged_pairs where standing = 'settled' and not is_true
    ) as wrong,
    count(*) filter (where alike and not found) as interchangeable,
    count(*) filter (where in_doubt and not alike and not found) as left_to_person,
    count(*) filter (where not in_doubt and not alike and not found) as missed
from fate
