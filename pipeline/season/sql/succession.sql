-- Grain: one row per row of the kind looked at ($kind) that a later sheet of its slot speaks about:
-- the row that takes its place, or null where the later sheet no longer has it. `numbered` holds
-- the kind's rows with slot, version, row key and `ordinal`, which tells equal rows apart. A sheet
-- that only adds takes the place of rows that it repeats, and leaves all others as they are. A
-- correction sheet takes the place of the very rows that it fills, and of no other.
insert into succession
with later as (
    select
        o.sheet_no,
        o.row_no,
        o.row_key,
        o.ordinal,
        o.has_key,
        o.slot,
        min(s.sheet_no) filter (where s.version > o.version) as next_sheet_no,
        min(s.sheet_no) filter (where s.version > o.version and not s.only_adds) as next_whole_no
    from numbered as o
    inner join sheets as s on s.slot = o.slot
    group by o.sheet_no, o.row_no, o.row_key, o.ordinal, o.has_key, o.slot
),
filled as (
    select of_sheet_no as sheet_no, of_row_no as row_no, min((sheet_no, row_no)) as place
    from fills
    where kind = $kind and of_sheet_no is not null
    group by of_sheet_no, of_row_no
),
by_key as (
    select
        l.sheet_no,
        l.row_no,
        min((n.sheet_no, n.row_no)) as place
    from later as l
    inner join numbered as n
        on n.slot = l.slot and n.row_key = l.row_key and n.ordinal = l.ordinal
        and n.sheet_no >= l.next_sheet_no
    where l.has_key and n.has_key
        and n.sheet_no not in (select sheet_no from fills)
    group by l.sheet_no, l.row_no
),
by_place as (
    -- A row that could not be read has no key: the row on the same line of the next version fills it,
    -- unless that one takes the place of another row.
    select l.sheet_no, l.row_no, (n.sheet_no, n.row_no) as place
    from later as l
    inner join numbered as n on n.sheet_no = l.next_whole_no and n.row_no = l.row_no
    where not l.has_key and (n.sheet_no, n.row_no) not in (select place from by_key)
)
select
    $kind as kind,
    l.sheet_no,
    l.row_no,
    coalesce(f.place[1], k.place[1], p.place[1], l.next_whole_no) as by_sheet_no,
    coalesce(f.place[2], k.place[2], p.place[2]) as by_row_no
from later as l
left join filled as f on f.sheet_no = l.sheet_no and f.row_no = l.row_no
left join by_key as k on k.sheet_no = l.sheet_no and k.row_no = l.row_no
left join by_place as p on p.sheet_no = l.sheet_no and p.row_no = l.row_no
where f.place is not null or k.place is not null or p.place is not null or ($replaces and l.next_whole_no is not null)
order by l.sheet_no, l.row_no;
