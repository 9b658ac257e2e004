"""When a query of rules need not run: most weeks have no row twice, none unreadable, none gone."""

# Queries that find nothing where another, quicker one finds nothing.
NOTHING_TO_FIND = {
    "unreadable_cells": "select 1 from unreadable join looked_at using (kind) limit 1",
    "missing_columns": "select 1 from unreadable join looked_at using (kind) "
    "where reason = 'no-such-column' limit 1",
    "gone_rows": "select 1 from succession join looked_at using (kind) "
    "where by_row_no is null limit 1",
    "corrects_nothing": "select 1 from fills where of_sheet_no is null limit 1",
    "impossible_values": "select 1 from live_rows as c where $any limit 1",
    "wrong_order": "select 1 from live_rows as c where $any limit 1",
    "days_to_come": "select 1 from live_rows as c "
    "inner join sheets as s on s.sheet_no = c.sheet_no where $any limit 1",
    "member_numbers_off": "select 1 from numbers_off limit 1",
    # Of one bag it is told to the gram.
    "odd_tares": "select 1 from coffee_days "
    "where heaviest_bag_kg > (select min(tare_per_bag_high) - 0.001 from limits_here) limit 1",
    "one_bringer": "select 1 from rows_weighings "
    "where brought_by in ('neighbour', 'carrier') limit 1",
    "areas_off_boundaries": "select 1 from live_rows where boundary is not null limit 1",
    "plots_overlap": "select 1 from plot_overlaps limit 1",
    "after_closing": "select 1 from closing limit 1",
    "late_sheets": "select 1 from live_rows as c "
    "inner join sheets as s on s.sheet_no = c.sheet_no cross join season_days as d "
    "where s.taken_day > (select taken_day from first_taken) "
    "and c.day between d.first_day and d.last_day group by c.sheet_no "
    "having any_value(s.taken_day) - max(c.day) > (select min(late_days) from limits_here) limit 1",
    "scales_not_verified": "select 1 from scales, season_days, limits_here where verified is null "
    "or last_day > verified + cast(verified_days as integer) limit 1",
}

# All rows of a kind count where this finds nothing: it has no flag and no later version.
NOTHING_TO_SETTLE = (
    "select 1 from flags where kind = $kind union all select 1 from succession where kind = $kind "
    "union all select 1 from superseded where kind = $kind limit 1"
)
