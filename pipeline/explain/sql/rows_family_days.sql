-- Grain: one row per entry of one member ($member) with days of family work that count.
select
    kind, sheet_no, row_no, 'family_days' as col, family_days as amount,
    [[case source when 'visit' then 'days_visit' else 'days_record' end, 'wactivity:' || activity, 'd' || day]] as says
from member_cost
where member_no = $member and counts and family_days > 0
order by day, kind, sheet_no, row_no
