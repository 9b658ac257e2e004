-- Grain: one row: one entry of the office ($one) on one member's ($member) account; null where none.
select cast(sum(case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end) as bigint)
    as value
from transfers as t
inner join money_entries as e
    on t.kind = 'money_entries' and e.sheet_no = t.sheet_no and e.row_no = t.row_no
where t.member_no = $member and e.entry_no = $one and t.what in ('adjustment', 'moved', 'unclaimed')
    and 'member' in (t.from_account, t.to_account)
