-- Grain: the typed rows of a drawn season, one per receipt line and one per member's record.
insert into filled_weighings by name
select
    1 as sheet_no, row_no, station, day, receipt_book, receipt_no, line, member_no,
    'arabica' as species, 'parchment' as form, '1' as grade,
    kg_from_grams(net_hg * 100 + 500) as gross_kg, 0.5 as tare_kg, kg_from_grams(net_hg * 100) as net_kg,
    recorder
from drawn_weighings
order by row_no;

insert into filled_deliveries by name
select
    2 as sheet_no, row_no, member_no, day, station, receipt_book, receipt_no,
    'arabica' as species, 'parchment' as form, kg_from_grams(kg_hg * 100) as kg, written_from
from drawn_records
order by row_no;
