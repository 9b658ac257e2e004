-- Grain: one row per plot that was counted before: its latest count beside the one before it.
with again as (
    -- Most plots were counted once. Numbers are grouped sooner than texts.
    select hash(member_no, plot_no) as plot
    from plots
    where state = 'counted' and counted_on is not null
    group by plot
    having count(*) > 1
),
counted as (
    select
        member_no, plot_no, counted_on, planted_year, trees, stumped_year, sheet_no, row_no,
        lag({'counted_on': counted_on, 'planted_year': planted_year, 'trees': trees}) over (
            partition by member_no, plot_no order by counted_on, sheet_no, row_no
        ) as earlier,
        row_number() over (
            partition by member_no, plot_no order by counted_on desc, sheet_no desc, row_no desc
        ) as back
    from plots
    where state = 'counted' and counted_on is not null and hash(member_no, plot_no) in (select plot from again)
)
select
    c.sheet_no,
    c.row_no,
    c.earlier.counted_on as earlier_day,
    c.earlier.planted_year as earlier_planted,
    c.earlier.trees as earlier_trees,
    -- Planted anew, cut back or left for years: another number is no wonder.
    c.planted_year >= year(c.earlier.counted_on) as replanted,
    coalesce(c.stumped_year >= year(c.earlier.counted_on), false)
        or c.counted_on > c.earlier.counted_on + 800 as long_ago,
    cast(div_half_away(
        cast(abs(c.trees - c.earlier.trees) * 100 as bigint), nullif(c.earlier.trees, 0)
    ) as bigint) as apart_pct
from counted as c
where c.back = 1 and c.earlier is not null and c.earlier.counted_on < c.counted_on
