-- Grain: one row per record, or weighed delivery of a member who keeps records, without a partner, of
-- one $station and $week (ISO, by its day) or of all where those are empty. What cannot be told apart
-- comes first, then records, then weighings.
select
    u.side, u.because, u.member_no, u.station, u.day, u.receipt_book, u.receipt_no, u.kg,
    u.written_from, u.receipt_unknown, s.name as sheet, u.row_no, cast(u.nearest as varchar) as nearest
from unmatched as u
inner join sheets as s on s.sheet_no = u.sheet_no
where ($station = '' or u.station = $station)
    and ($week = '' or strftime(u.day, '%G-W%V') = $week)
order by u.because <> 'cannot-be-told-apart', u.side, u.station, u.day, u.sheet_no, u.row_no
