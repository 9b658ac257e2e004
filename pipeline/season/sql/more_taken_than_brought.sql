-- Grain: one row per weighing of which more is taken than it brought. None where the money adds up.
with cost_more as (
    -- Few weighings cost more than they brought. A place as one number, since pairs are slow to group.
    select place_of(sheet_no, row_no) as place
    from transfers
    where kind = 'weighings'
    group by place
    having sum(case when to_account = 'member' then amount_minor else -amount_minor end) < 0
)
select t.sheet_no, t.row_no
from transfers as t
inner join cost_more as c on c.place = place_of(t.sheet_no, t.row_no)
where t.kind = 'weighings'
group by t.sheet_no, t.row_no
having bool_or(t.what = 'deduction') and not bool_or(t.what = 'premium' and t.from_account = 'member')
order by t.sheet_no, t.row_no
