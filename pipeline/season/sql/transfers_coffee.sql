-- Grain: one row per movement of money that coffee brings: each counted weighing's value, and what of
-- the season was worth and held back and paid before the book began.
insert into transfers
select
    day, 'coffee', 'coffee', 'member', member_no, value_minor, 'weighings', sheet_no, row_no
from earned
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
