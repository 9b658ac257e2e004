-- Grain: one row: net kg of one member ($member), species ($one) and form ($two); null where none.
select sum(net_kg) as value from member_coffee where member_no = $member and species = $one and form = $two
