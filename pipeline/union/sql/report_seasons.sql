-- Grain: one row per season and currency of the whole union, over the books' summaries.
select
    season,
    currency,
    count(*) as books,
    cast(sum(members) as bigint) as members,
    cast(sum(delivering) as bigint) as delivering,
    cast(sum(deliveries) as bigint) as deliveries,
    cast(sum(arrived) as bigint) as arrived,
    cast(sum(counted) as bigint) as counted,
    cast(sum(held) as bigint) as held,
    cast(sum(sent_back) as bigint) as sent_back,
    cast(sum(replaced) as bigint) as replaced,
    cast(sum(left_out) as bigint) as left_out,
    cast(sum(gbe_kg) as decimal(18, 3)) as gbe_kg,
    cast(sum(value_minor) as bigint) as value_minor,
    cast(sum(deducted_minor) as bigint) as deducted_minor,
    cast(sum(paid_minor) as bigint) as paid_minor,
    cast(sum(balance_minor) as bigint) as balance_minor
from read_parquet($files)
group by season, currency
order by season, currency
