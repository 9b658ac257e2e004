-- Grain: one row per entry of one member ($member) with days of family work that count.
select
    kind, sheet_no, row_no, 'family_days' as col, family_days as amount,
    replace(activity, '_', ' ') || case source when 'visit' then ', told on the visit of ' else ', written down for ' end
        || day as says
from member_cost
where member_no = $member and counts and family_days > 0
order by day, kind, sheet_no, row_no
