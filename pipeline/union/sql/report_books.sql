-- Grain: one row per book and season, over the books' summaries.
select book, name, season, currency, members, deliveries, counted, held, sent_back, gbe_kg, value_minor,
    paid_minor, balance_minor
from read_parquet($files)
order by book, season
