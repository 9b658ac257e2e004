-- Grain: one row per rule and severity: flags raised, decided and open, and kg at stake.
select
    rule, severity, count(*) as flags, count(decision) as decided,
    count(*) - count(decision) as open,
    coalesce(sum(kg_at_stake) filter (decision is null), 0)::decimal(14, 3) as open_kg
from flags
group by rule, severity
order by flags desc, rule, severity
