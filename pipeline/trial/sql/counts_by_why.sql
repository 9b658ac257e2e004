-- Grain: one row per why of the settled pairs: how many there are, and how many are wrong.
select
    why,
    count(*) as settled,
    count(*) filter (where not is_true) as wrong
from judged_pairs
where standing = 'settled'
group by why
order by settled desc, why
