-- Grain: one row per pair of a member's record and a weighed delivery, of one $station and $week (ISO,
-- by the day weighed) or of all where those are empty; the furthest apart first.
select
    m.standing, m.why, m.member_no, m.station, m.day, m.receipt_book, m.receipt_no, m.lines,
    m.record_kg, m.net_kg, cast(m.record_kg - m.net_kg as decimal(14, 3)) as kg_apart, m.pct_apart,
    cast(d.day - m.day as integer) as days_apart, m.written_from, d.recorder as written_by,
    m.weighed_by, m.independent,
    r.name as record_sheet, m.record_row_no, w.name as weighed_sheet, m.weighed_row_no
from matched as m
inner join rows_deliveries as d on d.sheet_no = m.record_sheet_no and d.row_no = m.record_row_no
inner join sheets as r on r.sheet_no = m.record_sheet_no
inner join sheets as w on w.sheet_no = m.weighed_sheet_no
where ($station = '' or m.station = $station)
    and ($week = '' or strftime(m.day, '%G-W%V') = $week)
order by abs(m.pct_apart) desc, m.record_sheet_no, m.record_row_no
