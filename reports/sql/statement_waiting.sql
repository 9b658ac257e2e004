-- Grain: one row per weighing that names a member and is held or sent back.
select
    w.member_no, w.state::varchar as state, w.day, w.station, w.receipt_book, w.receipt_no, w.line,
    w.form, w.net_kg, w.sheet_no, w.row_no, s.name as sheet
from weighings as w
join sheets as s using (sheet_no)
where w.state in ('held', 'sent_back') and w.member_no in (select unnest($members::varchar[]))
order by w.member_no, w.day, w.station, w.receipt_book, w.receipt_no, w.line, w.sheet_no, w.row_no
