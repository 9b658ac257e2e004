-- Grain: one row per store check whose coffee holds more moisture than the driest earlier reading of
-- the same stack and lot, with that reading.
with read as (
    select
        *,
        min(moisture_pct) over (
            partition by station, stack, lot_no order by day, sheet_no, row_no
            rows between unbounded preceding and 1 preceding
        ) as earlier_pct
    from check_rows
    where moisture_pct is not null
)
select * from read where moisture_pct > earlier_pct
