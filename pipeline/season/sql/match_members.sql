-- Grain: one row per member of some ($members), or whose records and weighings can be pairs of theirs or of rows
-- that name no member: who shares a receipt that a record names with one of them, or with one who does.
create or replace temp table match_members as
with recursive shared as (
    select w.member_no, d.member_no as other_no
    from rows_weighings as w
    inner join rows_deliveries as d
        on d.receipt_no = w.receipt_no and d.receipt_book = w.receipt_book and d.station = w.station
    where d.member_no is distinct from w.member_no
    union
    select a.member_no, b.member_no
    from rows_deliveries as a
    inner join rows_deliveries as b
        on b.receipt_no = a.receipt_no and b.receipt_book = a.receipt_book and b.station = a.station
    where b.member_no is distinct from a.member_no
),
link as (
    select member_no, other_no from shared
    union
    select other_no, member_no from shared
),
reached as (
    select unnest($members) as member_no
    union
    select other_no from link where member_no is null
    union
    select k.other_no
    from reached as m
    inner join link as k on k.member_no = m.member_no
)
select member_no
from reached
where member_no is not null;
