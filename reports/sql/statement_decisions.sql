-- Grain: one row per decision on a row that names a member.
with named as (
    select 'weighings' as kind, sheet_no, row_no, member_no, receipt_book, receipt_no from weighings
    where member_no in (select unnest($members::varchar[]))
    union all
    select 'payments', sheet_no, row_no, member_no, null, null from payments
    where member_no in (select unnest($members::varchar[]))
    union all
    select 'plots', sheet_no, row_no, member_no, null, null from plots
    where member_no in (select unnest($members::varchar[]))
    union all
    select 'farm_record', sheet_no, row_no, member_no, null, null from farm_record
    where member_no in (select unnest($members::varchar[]))
    union all
    select 'deliveries', sheet_no, row_no, member_no, null, null from deliveries
    where member_no in (select unnest($members::varchar[]))
)
select
    named.member_no, d.kind, d.decision_n, d.action, d.col, d.old_value, d.new_value, d.because, d.decided_by,
    d.decided_at, s.name as sheet, d.row_no, named.receipt_book, named.receipt_no
from decisions as d
join named using (kind, sheet_no, row_no)
join sheets as s using (sheet_no)
order by named.member_no, d.decision_n
