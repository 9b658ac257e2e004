-- Grain: one row per weighing of which more is taken than it brought. None where the money adds up.
select s.sheet_no, s.row_no
from settlements as s
left join (
    select
        sheet_no, row_no, bool_or(from_account = 'member') as discounted,
        sum(case when to_account = 'member' then amount_minor else -amount_minor end) as amount_minor
    from movements
    where what = 'premium'
    group by sheet_no, row_no
) as p on p.sheet_no = s.sheet_no and p.row_no = s.row_no
where list_sum(s.deducted_minor) > s.value_minor + coalesce(p.amount_minor, 0)
    and (list_max(s.deducted_minor) <> 0 or list_min(s.deducted_minor) <> 0)
    and p.discounted is not true
order by s.sheet_no, s.row_no
