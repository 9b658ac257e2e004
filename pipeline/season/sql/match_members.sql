-- Grain: one row per member whose records are matched anew, and one without a number: who keeps records and has rows that
-- changed, or a record of which another thing is to be said now, and who shares a receipt with one of them or
-- with rows that name no member, or with one who does.
create or replace temp table match_members as
with recursive link as (
    select member_no, other_no from receipts_shared
    union
    select other_no, member_no from receipts_shared
),
changed as (
    select distinct member_no from touched_members where through in ('weighings', 'deliveries')
),
reached as (
    select null as member_no
    union
    select d.member_no
    from rows_deliveries as d
    inner join changed as c on c.member_no = d.member_no
    union
    select k.member_no
    from link as k
    inner join changed as c on c.member_no = k.member_no
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
