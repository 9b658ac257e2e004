-- Grain: one row per account of the ledger: credits less debits, minor units.
select account, cast(sum(amount_minor) as bigint) as balance_minor
from (
    select to_account as account, amount_minor from transfers
    union all
    select from_account, -amount_minor from transfers
)
group by account
order by account
