-- Grain: one row per member and deduction; minor units, what was given back taken off.
select
    member_no,
    case when starts_with(to_account, 'deduction:') then substr(to_account, 11)
         else substr(from_account, 11) end as deduction,
    sum(case when starts_with(to_account, 'deduction:') then amount_minor
             else -amount_minor end)::bigint as amount_minor
from transfers
where what = 'deduction' and member_no in (select unnest($members::varchar[]))
group by 1, 2
order by 1, 2
