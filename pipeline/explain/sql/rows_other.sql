-- Grain: one row per entry of the office ($one, or all) that moves what is owed to one member ($member).
select
    t.kind, t.sheet_no, t.row_no, 'amount' as col,
    case when t.to_account = 'member' then t.amount_minor else -t.amount_minor end as amount,
    [
        ['entry', 't' || e.entry_no, 'wmoney_entry:' || e.entry], ['corrects', 't' || e.corrects],
        case when e.entry = 'moved'
            then ['of_member', 't' || case when e.member_no = $member then e.other_member else e.member_no end] end,
        ['for_item', 't' || e.reason], ['allowed_by', 't' || e.authority]
    ] as says
from transfers as t
inner join money_entries as e
    on t.kind = 'money_entries' and e.sheet_no = t.sheet_no and e.row_no = t.row_no
where t.what in ('adjustment', 'moved', 'unclaimed') and 'member' in (t.from_account, t.to_account)
    and t.member_no = $member and ($one is null or e.entry_no = $one)
order by t.sheet_no, t.row_no
