-- Grain: one row: how many members each training would concern.
with latest as (
    select member_no, village
    from members
    where state = 'counted'
    qualify row_number() over (partition by member_no order by sheet_no desc, row_no desc) = 1
),
trees as (
    select
        y.member_no, y.gbe_per_tree_kg,
        count(*) over (partition by latest.village, y.species) as together,
        quantile_cont(y.gbe_per_tree_kg, 0.25) over (partition by latest.village, y.species) as lower
    from member_yield as y
    join latest using (member_no)
    where y.trees_bearing > 0 and y.gbe_per_tree_kg > 0
)
select
    (select count(distinct member_no) from weighings
     where state = 'counted' and form <> 'fresh_cherry' and moisture_pct > $moisture_most) as drying,
    (select count(distinct member_no) from trees
     where together >= $least and gbe_per_tree_kg < lower) as pruning,
    (select count(*) from member_season where registered and record_rows = 0) as recording
