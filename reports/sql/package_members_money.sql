-- Grain: one row per member of the register, and per number with money that it lacks; minor units.
select
    member_no, opening_minor, value_minor, premium_minor, second_minor, other_minor, deducted_minor,
    paid_minor, balance_minor, loan_minor, shares_minor, untaken_minor
from member_season
order by member_no
