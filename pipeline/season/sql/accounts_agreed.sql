-- Grain: one row per register row whose account somebody agreed to by a decision that stands: an
-- amendment of the very cell that is paid to, which takes two people, or the answer that another
-- account than before is right, which is never the sender's.
create view accounts_agreed as
select sheet_no, row_no, col, max_by(action, decision_n) as action
from decisions
where kind = 'members' and col in ('account', 'phone')
    and (rule in ('account-changed', 'account-given-later') or action = 'amend')
group by sheet_no, row_no, col
having max_by(action, decision_n) in ('count', 'amend')
order by sheet_no, row_no, col;
