-- Grain: one row per register row that says where a member is paid: the account, or where none is given
-- the telephone; `agreed` where it came with the member's first row, or somebody agreed to it since.
create view accounts_given as
with register as (
    select
        member_no, sheet_no, row_no, account, account_at, phone,
        case when account is null then 'phone' else 'account' end as col,
        row_number() over (partition by member_no order by sheet_no, row_no) as nth
    from members
    where member_no is not null and state not in ('sent_back', 'left_out')
)
select
    r.member_no, r.sheet_no, r.row_no, r.account, r.account_at, r.phone, r.col,
    regexp_replace(coalesce(r.account, r.phone), '\s', '', 'g') as paid_to,
    lower(trim(coalesce(r.account_at, ''))) as paid_at,
    r.nth = 1 or a.action is not null as agreed,
    coalesce(a.action = 'amend', false) as amended,
    r.nth = 1 as first
from register as r
left join accounts_agreed as a on a.sheet_no = r.sheet_no and a.row_no = r.row_no and a.col = r.col
where coalesce(r.account, r.phone) is not null;
