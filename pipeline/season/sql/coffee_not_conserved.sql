-- Grain: one row per law of the coffee that does not hold; none in a sound book.
with running as (
    select
        station, species, form, lot_no, day,
        sum(sum(grams)) over (
            partition by station, species, form, lot_no order by day rows unbounded preceding
        ) as there_g
    from coffee_moves
    group by station, species, form, lot_no, day
),
sums as (
    select what, cast(sum(grams) as hugeint) as grams
    from coffee_moves
    group by what
),
law as (
    select
        'bought' as what,
        coalesce((select grams from sums where what = 'bought'), 0) as one,
        coalesce((select sum(grams(net_kg)) from weighings where state = 'counted'), 0) as other
    union all
    select
        'sold',
        -coalesce((select grams from sums where what = 'sold'), 0),
        coalesce((select sum(grams(net_kg)) from sales where state = 'counted'), 0)
    union all
    -- What is only moved, from lot to lot, station to station or form to form, comes to nothing.
    select
        'moved',
        coalesce(
            (select sum(grams) from sums where what in ('drawn', 'moved', 'processed')), 0
        ),
        0
    union all
    select
        'origins',
        coalesce((select sum(grams) from coffee_origins), 0),
        coalesce(
            (select sum(grams) from sums where what in ('opening', 'bought', 'returned')), 0
        )
)
select what, one, other
from law
where one <> other
union all
select concat_ws(' ', 'below nought:', station, species, form, lot_no, day), there_g, 0
from running
where there_g < 0
