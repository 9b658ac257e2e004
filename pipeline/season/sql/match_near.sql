-- Grain: one row per weighing of the members who are matched anew, with what matching reads of it: they lie all
-- over the table, which is gone through once.
create or replace temp table match_near as
select
    sheet_no, row_no, station, receipt_book, receipt_no, member_no, day, species, form, net_kg, recorder, scale, state
from weighings
