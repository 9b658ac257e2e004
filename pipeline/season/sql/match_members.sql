-- Grain: one row per member whose records are matched anew, and one without a number: who keeps records and has rows that
-- changed, or a record of which another thing is to be said now, and who shares a receipt with one of them or
-- with rows that name no member, or with one who does.
create or replace temp table match_members as
with recursive link as (
    select member_no, other_no from receipts_shared
    union
    select other_no, member_no from receipts_shared
),
reached as (
    select null as member_no
    union
    select t.member_no
    from touched_members as t
    where t.through in ('weighings', 'deliveries') and (
        t.member_no in (select member_no from rows_deliveries)
        or t.member_no in (select member_no from link)
    )
    union
    select u.member_no
    from unmatched as u
    left join match_due as d on d.sheet_no = u.sheet_no and d.row_no = u.row_no
    where u.side = 'record' and u.receipt_due <> (d.row_no is not null)
    union
    select k.other_no
    from reached as m
    inner join link as k on k.member_no is not distinct from m.member_no
)
select distinct cast(member_no as varchar) as member_no from reached;
