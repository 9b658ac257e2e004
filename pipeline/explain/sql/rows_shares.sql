-- Grain: one row per payment into or out of one member's ($member) shares.
select
    t.kind, t.sheet_no, t.row_no, case when t.kind = 'weighings' then 'net_kg' else 'amount' end as col,
    case when t.from_account = 'shares' then -t.amount_minor else t.amount_minor end as amount,
    case
        when t.kind = 'weighings' then [['into_shares', 'b' || d.name], ['allowed_by', 't' || d.authority], ['until', 'm' || d.until_minor]]
        else [['movement', 'wwhat:' || t.what]]
    end as says
from transfers as t
left join deductions as d on t.to_account = 'deduction:' || d.deduction and d.takes = 'shares'
where t.member_no = $member and (d.takes = 'shares' or 'shares' in (t.from_account, t.to_account))
order by t.sheet_no, t.row_no
