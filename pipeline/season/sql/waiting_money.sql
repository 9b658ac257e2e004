-- Grain: one row per kind of sheet about coffee or money of which rows of known members wait or went back,
-- and how many.
select kind, count(*) as waiting
from (
    select 1 as position, 'weighings' as kind, state, member_no from weighings
    union all
    select 2, 'payments', state, member_no from payments
    union all
    select 3, 'credit', state, member_no from credit
    union all
    select 4, 'money_entries', state, member_no from money_entries
    union all
    select 5, 'opening_balances', state, member_no from opening_balances
    union all
    select 6, 'second_payments', state, member_no from second_payments
    union all
    select 7, 'season_so_far', state, member_no from season_so_far
)
where state in ('held', 'sent_back') and member_no in (select member_no from member_season)
group by position, kind
order by position
