-- Grain: one row per plot of one member ($member) and species ($one): the latest count of its trees.
select
    'plots' as kind,
    max_by(sheet_no, (counted_on, sheet_no, row_no)) as sheet_no,
    max_by(row_no, (counted_on, sheet_no, row_no)) as row_no,
    'trees_bearing' as col,
    max_by(trees_bearing, (counted_on, sheet_no, row_no)) as amount,
    [['trees_of', 't' || plot_no, 'd' || max(counted_on)]] as says
from plots
where state = 'counted' and member_no = $member and species = $one
group by plot_no
order by plot_no
