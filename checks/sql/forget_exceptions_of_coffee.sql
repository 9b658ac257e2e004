-- Grain: one row less per row that following the coffee set aside and nobody left out.
delete from exceptions
where (kind, sheet_no, row_no) in (
    select kind, sheet_no, row_no
    from flags
    where list_contains($codes, rule) and severity <> 'note'
        and decision is distinct from 'leave-out'
);
