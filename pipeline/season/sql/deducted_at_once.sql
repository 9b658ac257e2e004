-- Grain: one row per movement of money by a levy of which nothing waits: what its rate asks of a weighing,
-- up to where `waits` begins.
insert into transfers
select
    day, 'deduction', 'member', 'deduction:' || deduction, member_no, amount_minor, 'weighings', sheet_no, row_no
from (
    select
        e.day, d.deduction, e.member_no, e.sheet_no, e.row_no,
        coalesce(
            percent_minor(e.value_minor, d.percent), per_kg_minor(e.net_kg, d.per_kg, $decimals)
        ) as amount_minor
    from earned as e
    inner join deductions as d on d.takes = '' and (d.form <> e.form) is not true
    left join waits as w on w.member_no = e.member_no
    where w.position is null or d.position < w.position
) as asked
where amount_minor <> 0
