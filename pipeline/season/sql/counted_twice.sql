-- Grain: one row per receipt line, payment or member that counts more than once; none in a sound book.
select 'receipt line' as what, concat_ws('|', station, receipt_book, receipt_no, line) as key, count(*) as times
from weighings
where state = 'counted'
group by station, receipt_book, receipt_no, line
having count(*) > 1
union all
select 'payment', payment_no, count(*)
from payments
where state = 'counted'
group by payment_no
having count(*) > 1
union all
select 'member', member_no, count(*)
from members
where state = 'counted'
group by member_no
having count(*) > 1
order by what, key
