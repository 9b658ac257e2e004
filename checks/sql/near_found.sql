-- Grain: leaves of what the rules in `near_rules` found only what is near to the rows that changed; by whole
-- sheets where that is what their findings hang together by, since some stand on a sheet's heading.
delete from found
where rowid in (
    select f.rowid
    from found as f
    inner join near_rules as r on r.rule = f.rule
    where not (
        (r.hang, f.sheet_no, f.row_no) in (select (hang, sheet_no, row_no) from near_places)
        or (r.hang = 'sheet' and f.sheet_no in (select sheet_no from near_places where hang = 'sheet'))
    )
);
