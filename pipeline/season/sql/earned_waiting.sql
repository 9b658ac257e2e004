-- Grain: one row per weighing in `earned` of the members in `waits`, with the first deduction that may wait
-- (position) and what is left after those before it.
create or replace temp table earned as
select
    e.member_no, w.position, e.day, e.sheet_no, e.row_no, e.form, e.net_kg, e.value_minor, e.premium_minor,
    e.left_minor - coalesce(t.taken_minor, 0) as left_minor
from earned as e
inner join waits as w on w.member_no = e.member_no
left join (
    select sheet_no, row_no, cast(sum(amount_minor) as bigint) as taken_minor
    from transfers
    where kind = 'weighings' and what = 'deduction' and member_no in (select member_no from waits)
    group by sheet_no, row_no
) as t on t.sheet_no = e.sheet_no and t.row_no = e.row_no
