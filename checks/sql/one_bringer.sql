-- Grain: one row per run of receipts next to each other in a book, all brought by a neighbour or all by a
-- carrier, where three members or more have brought all that their trees can be expected to bear, or
-- nearly; at the first receipt of the run.
with receipt as (
    select
        station, receipt_book, receipt_no, any_value(member_no) as member_no,
        any_value(brought_by) as bringer, min(place_of(sheet_no, row_no)) as place,
        cast(sum(net_kg) as decimal(14, 3)) as net_kg
    from weighings
    where state = 'counted' and brought_by in ('neighbour', 'carrier')
    group by station, receipt_book, receipt_no
),
foreign_hands as (
    select
        *,
        receipt_no - row_number() over (
            partition by station, receipt_book, bringer order by receipt_no
        ) as run
    from receipt
),
full_members as (
    select y.member_no
    from member_yield as y
    left join known_members as m on m.member_no = y.member_no
    left join stations as st on st.station = m.station
    inner join limits_here as l
        on l.station = coalesce(st.station, '') and l.species = y.species and l.form = ''
    group by y.member_no
    having bool_or(y.gbe_per_tree_kg * 100 > l.yield_per_tree_usual * l.near_capacity)
),
runs as (
    select
        f.station, f.receipt_book, f.bringer, min(f.receipt_no) as from_no, max(f.receipt_no) as to_no,
        min(f.place) as place, count(distinct full_members.member_no) as members_full,
        cast(sum(f.net_kg) as decimal(14, 3)) as kg
    from foreign_hands as f
    left join full_members on full_members.member_no = f.member_no
    group by f.station, f.receipt_book, f.bringer, f.run
)
select
    sheet_of(u.place) as sheet_no, row_of(u.place) as row_no, u.receipt_book, u.from_no, u.to_no, u.members_full,
    u.kg,
    u.kg as kg_at_stake,
    cast(null as bigint) as minor_at_stake
from runs as u
where u.members_full >= 3
