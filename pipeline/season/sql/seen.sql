-- Grain: the sheets and decisions that the season is now worked out from.
delete from seen_sheets;
insert into seen_sheets select sheet_no from sheets;
delete from seen_decisions;
insert into seen_decisions select decision_n, flag, kind, sheet_no, row_no from decisions;
