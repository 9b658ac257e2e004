-- Grain: one row per live row of a lot's card, with what came before it on the card and the hours or
-- days that it took; null where the card has no times.
create view lot_times as
with card as (
    select
        *,
        lag(form) over steps as earlier_form,
        lag(day) over steps as earlier_day,
        max(case when step in ('receiving', 'floating')
            then day + coalesce(begun_at, time '00:00') end) over upto as received_at,
        bool_and(begun_at is not null) filter (where step in ('receiving', 'floating'))
            over upto as received_timed
    from live_lots
    window
        steps as (partition by lot_no order by line, sheet_no, row_no),
        upto as (
            partition by lot_no order by line, sheet_no, row_no
            rows between unbounded preceding and 1 preceding
        )
)
select
    sheet_no,
    row_no,
    lot_no,
    earlier_form,
    earlier_day,
    case when step = 'pulping' and received_timed and begun_at is not null
        then cast(round(epoch((day + begun_at) - received_at) / 3600.0, 1) as decimal(14, 1))
    end as hours_to_pulping,
    case when step = 'fermenting' and ended_on is not null
        and begun_at is not null and ended_at is not null
        then cast(round(
            epoch((ended_on + ended_at) - (day + begun_at)) / 3600.0, 1
        ) as decimal(14, 1))
    end as hours_fermented,
    case when step = 'drying' then ended_on - day end as days_dried
from card;
