-- Grain: one row per weighing in `earned`, with its premiums on top and its discounts taken off.
create or replace temp table earned as
select
    e.member_no, e.day, e.sheet_no, e.row_no, e.form, e.net_kg, e.value_minor,
    coalesce(p.premium_minor, 0) as premium_minor,
    greatest(e.value_minor + coalesce(p.premium_minor, 0), 0) as left_minor
from earned as e
left join (
    select
        sheet_no, row_no,
        cast(sum(case when to_account = 'member' then amount_minor else -amount_minor end) as bigint)
            as premium_minor
    from transfers
    where what = 'premium'
    group by sheet_no, row_no
) as p on p.sheet_no = e.sheet_no and p.row_no = e.row_no
