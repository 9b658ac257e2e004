-- Grain: one row per movement of money that a loan given back otherwise than by coffee makes, where one
-- deduction ($deduction) takes it.
insert into movements
select
    r.day, m.what, case when e.entry = 'moved' then 'moved' else 'cash' end, m.to_account, r.member_no,
    m.amount_minor, r.kind, r.sheet_no, r.row_no
from step as r
inner join money_entries as e on e.sheet_no = r.sheet_no and e.row_no = r.row_no,
    -- What was paid beyond the loan is the member's own.
    lateral (
        values
            ('repayment', 'deduction:' || $deduction, r.taken_minor),
            ('adjustment', 'member', r.paid_minor - r.taken_minor)
    ) as m (what, to_account, amount_minor)
where r.kind = 'money_entries' and m.amount_minor <> 0
