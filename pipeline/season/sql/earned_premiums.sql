-- Grain: one row per weighing in `earned`, with its premiums less its discounts.
create or replace temp table earned as
select e.* replace (coalesce(p.premium_minor, 0) as premium_minor)
from earned as e
left join (
    select
        sheet_no, row_no,
        cast(sum(case when to_account = 'member' then amount_minor else -amount_minor end) as bigint)
            as premium_minor
    from movements
    where what = 'premium'
    group by sheet_no, row_no
) as p on p.sheet_no = e.sheet_no and p.row_no = e.row_no
