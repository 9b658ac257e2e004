-- Grain: one row per member with a loan or shares; minor units. Each begins with what was brought on from
-- before the book, and start + more - less is what stands now.
with taken as (
    select 'deduction:' || deduction as account, takes from deductions where takes in ('credit', 'shares')
)
select
    t.member_no,
    coalesce(sum(t.amount_minor) filter (t.from_account = 'loan' and t.to_account = 'opening'), 0)::bigint
        as loan_start,
    coalesce(sum(t.amount_minor) filter (t.from_account = 'loan' and t.to_account <> 'opening'), 0)::bigint
        as loan_more,
    coalesce(sum(t.amount_minor) filter (d.takes = 'credit'), 0)::bigint as loan_less,
    coalesce(sum(t.amount_minor) filter (t.to_account = 'shares' and t.from_account = 'opening'), 0)::bigint
        as shares_start,
    coalesce(sum(t.amount_minor) filter (
        d.takes = 'shares' or t.to_account = 'shares' and t.from_account <> 'opening'), 0)::bigint
        as shares_more,
    coalesce(sum(t.amount_minor) filter (t.from_account = 'shares'), 0)::bigint as shares_less
from transfers as t
left join taken as d on d.account = t.to_account
where (d.takes is not null or t.from_account in ('loan', 'shares') or t.to_account = 'shares')
    and t.member_no in (select unnest($members::varchar[]))
group by t.member_no
order by t.member_no
