-- Grain: one row per kind of sheet about coffee or money of which rows wait or went back, and how many.
select kind, count(*) as waiting
from (
    select 1 as position, 'weighings' as kind, state from weighings
    union all
    select 2, 'payments', state from payments
    union all
    select 3, 'credit', state from credit
    union all
    select 4, 'money_entries', state from money_entries
    union all
    select 5, 'opening_balances', state from opening_balances
    union all
    select 6, 'second_payments', state from second_payments
    union all
    select 7, 'season_so_far', state from season_so_far
)
where state in ('held', 'sent_back')
group by position, kind
order by position
