-- Grain: adds to `match_members` each member who shares a receipt with one of those that are there, or with
-- a row that names no member: whose records and weighings can be pairs of each other's.
insert into match_members
with receipt as (
    select r.station, r.receipt_book, r.receipt_no
    from rows_weighings as r
    left join match_members as m on m.member_no = r.member_no
    where m.member_no is not null or r.member_no is null
    union
    select r.station, r.receipt_book, r.receipt_no
    from rows_deliveries as r
    left join match_members as m on m.member_no = r.member_no
    where m.member_no is not null or r.member_no is null
)
select r.member_no
from rows_weighings as r
inner join receipt as p
    on p.receipt_no = r.receipt_no and p.receipt_book = r.receipt_book and p.station = r.station
where r.member_no is not null
union
select r.member_no
from rows_deliveries as r
inner join receipt as p
    on p.receipt_no = r.receipt_no and p.receipt_book = r.receipt_book and p.station = r.station
where r.member_no is not null
except
select member_no from match_members
