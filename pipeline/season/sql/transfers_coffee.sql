-- Grain: one row per movement of money that coffee brings: each counted weighing's value, and what of
-- the season was worth and held back and paid before the book began.
insert into transfers
select
    w.day, 'coffee', 'coffee', 'member', w.member_no, v.value_minor, 'weighings', w.sheet_no, w.row_no
from money_weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
union all
select
    s.day, m.what, m.from_account, m.to_account, s.member_no, m.amount_minor,
    'season_so_far', s.sheet_no, s.row_no
from season_so_far as s,
    lateral (
        values
            ('coffee', 'coffee', 'member', s.value_minor),
            ('deduction', 'member', 'deduction:before', s.deducted_minor),
            ('payment', 'member', 'before', s.paid_minor)
    ) as m (what, from_account, to_account, amount_minor)
where s.state = 'counted' and m.amount_minor is not null
    and s.member_no in (select member_no from money_members)
