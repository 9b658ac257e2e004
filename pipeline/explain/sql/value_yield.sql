-- Grain: one row: green kg a bearing tree of one member ($member) and species ($one).
select gbe_per_tree_kg as value from member_yield where member_no = $member and species = $one
