-- Grain: one row per deduction; minor units, what was given back taken off.
select
    case when starts_with(to_account, 'deduction:') then substr(to_account, 11)
         else substr(from_account, 11) end as deduction,
    sum(case when starts_with(to_account, 'deduction:') then amount_minor
             else -amount_minor end)::bigint as amount_minor
from transfers
where what = 'deduction'
group by 1
order by 1
