-- Grain: one row per sheet of the season with what became of its rows, in the order of the journal.
select
    s.sheet_no, s.sha256, s.part, s.name, s.kind, s.station, s.week, s.recorder, s.version, s.slot,
    s.taken_day, s.problem, s.language, cast(s.notes as varchar) as notes,
    t.arrived, t.counted, t.held, t.sent_back, t.replaced, t.left_out
from sheets as s
inner join sheet_states as t on t.sheet_no = s.sheet_no
order by s.sheet_no
