-- Grain: one row per member whose money is worked out: all that any row names, in whichever state.
create or replace temp table money_members as
select member_no from members
union
select member_no from weighings where member_no is not null
union
select member_no from payments where member_no is not null
union
select member_no from opening_balances where member_no is not null
union
select member_no from season_so_far where member_no is not null
union
select member_no from credit where member_no is not null
union
select member_no from money_entries where member_no is not null
union
select other_member from money_entries where other_member is not null
union
select member_no from second_payments where member_no is not null
