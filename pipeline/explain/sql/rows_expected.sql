-- Grain: one row per block of one member ($member) and species ($one) that bore: its band, from its latest count.
select
    'plots' as kind,
    max_by(p.sheet_no, (p.counted_on, p.sheet_no, p.row_no)) as sheet_no,
    max_by(p.row_no, (p.counted_on, p.sheet_no, p.row_no)) as row_no,
    'trees_bearing' as col, any_value(b.trees_bearing) as amount,
    [
        ['band', 't' || p.plot_no, 'n' || any_value(b.expected_low_kg), 'n' || any_value(b.expected_high_kg)],
        case when any_value(b.age) is null then ['no_age'] else ['age', 'n' || any_value(b.age)] end,
        ['wood', 'wwood:' || any_value(b.wood)],
        case when any_value(b.area_ha) is null then ['no_area'] else ['area', 'n' || any_value(b.area_ha)] end,
        ['by_trees']
    ] as says
from plots as p
inner join block_yield as b
    on b.member_no = p.member_no and b.plot_no = p.plot_no and b.species = p.species
where p.state = 'counted' and p.member_no = $member and p.species = $one
    and b.held is null and b.expected_low_kg is not null
group by p.plot_no
order by p.plot_no
