-- Grain: one row per row of a farm record, visit or issue note that names a cost or days of work: its heading in the
-- margin, what it counts with, and, by `costs_apart`, whether it does and whether it is doubtful.
create view member_cost as
select
    c.member_no, c.source, c.kind, c.sheet_no, c.row_no, c.day, c.activity,
    case
        when c.activity in ('transport', 'tools') then c.activity
        when c.source = 'credit' then 'inputs'
        when c.activity in ('processing', 'drying') then 'processing'
        when c.item is not null and coalesce(c.hired_days, 0) = 0 then 'inputs'
        when c.item is null and c.hired_days > 0 then 'hired labour'
        when c.item is not null then 'inputs and labour'
        else 'other'
    end as heading,
    c.cost_minor, c.family_days, c.hired_days,
    coalesce(a.counts, true) as counts, coalesce(a.doubtful, false) as doubtful
from cost_rows as c
-- A sheet is of one kind.
left join costs_apart as a on a.sheet_no = c.sheet_no and a.row_no = c.row_no
