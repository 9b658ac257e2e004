-- Grain: one row per counted weighing of a member; kg, minor units, with the sheet and row it stands on.
with taken as (
    select
        sheet_no, row_no,
        sum(case when starts_with(to_account, 'deduction:') then amount_minor
                 else -amount_minor end)::bigint as deducted_minor
    from transfers
    where kind = 'weighings' and what = 'deduction'
      and member_no in (select unnest($members::varchar[]))
    group by sheet_no, row_no
)
select
    w.member_no, w.day, w.station, w.receipt_book, w.receipt_no, w.line, w.species, w.form, w.grade,
    w.net_kg, w.moisture_pct, v.price_per_kg, v.value_minor,
    coalesce(taken.deducted_minor, 0) as deducted_minor, s.name as sheet, w.row_no,
    m.record_kg
from weighings as w
join sheets as s using (sheet_no)
left join valued as v using (sheet_no, row_no)
left join taken using (sheet_no, row_no)
-- The member's own record is of the whole receipt, and stands beside its first line.
left join matched as m
    on m.weighed_sheet_no = w.sheet_no and m.weighed_row_no = w.row_no
    and m.standing = 'settled' and m.record_kg <> m.net_kg
where w.state = 'counted' and w.member_no in (select unnest($members::varchar[]))
order by w.member_no, w.day, w.station, w.receipt_book, w.receipt_no, w.line, w.sheet_no, w.row_no
