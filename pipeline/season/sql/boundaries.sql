-- Grain: one row per plot with a boundary: that of its latest count, in the order in which they came.
select
    max((counted_on, sheet_no, row_no))[2] as sheet_no,
    max((counted_on, sheet_no, row_no))[3] as row_no,
    member_no,
    plot_no,
    max_by(boundary, (counted_on, sheet_no, row_no)) as boundary
from plots
where state = 'counted' and boundary is not null and counted_on is not null
group by member_no, plot_no
order by sheet_no, row_no, member_no, plot_no
