-- Grain: one row per member: the season's money (minor units), green bean equivalent kg, farm record.
select
    member_no, opening_minor, deliveries, gbe_kg, value_minor, premium_minor, second_minor, other_minor,
    deducted_minor, paid_minor, balance_minor, loan_minor, shares_minor, untaken_minor,
    waiting_rows, waiting_kg, record_rows, record_weeks, record_cost_minor,
    family_days, hired_days
from member_season
where member_no in (select unnest($members::varchar[]))
order by member_no
