-- Grain: one row per counted weighing of the members whose money is worked out: its value, and what
-- of it is left to take deductions from; minor units.
create or replace temp table earned as
select
    w.member_no, w.day, w.sheet_no, w.row_no, w.form, w.net_kg, v.value_minor,
    coalesce(p.premium_minor, 0) as premium_minor,
    greatest(v.value_minor + coalesce(p.premium_minor, 0), 0) as left_minor
from money_weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
left join (
    select
        sheet_no, row_no,
        cast(sum(case when to_account = 'member' then amount_minor else -amount_minor end) as bigint)
            as premium_minor
    from transfers
    where what = 'premium'
    group by sheet_no, row_no
) as p on p.sheet_no = w.sheet_no and p.row_no = w.row_no
