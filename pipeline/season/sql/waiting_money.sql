-- Grain: one row: how many rows of a kind of sheet that money comes from ($kind), of known members, wait or went back.
select count(*) as waiting
from $kind
where state in ('held', 'sent_back') and member_no in (select member_no from member_season)
