-- Grain: one row per weighing of one member ($member) that is held or was sent back.
select
    'weighings' as kind, sheet_no, row_no, 'net_kg' as col, net_kg as amount,
    [['state', 'wstate:' || state]] as says
from weighings_valued
where state in ('held', 'sent_back') and member_no = $member
order by day, sheet_no, row_no
