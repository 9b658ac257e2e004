-- Grain: one row per counted weighing, with what money asks of it.
create or replace temp view money_weighings as
select
    sheet_no, row_no, day, member_no, species, form, grade, station, net_kg, moisture_pct, ripe_pct, certificate
from weighings
where state = 'counted'
