-- Grain: one row per law of conservation: two sums that must be the same.
select
    'rows arrived = counted + held + sent back + replaced + left out' as law,
    cast(coalesce(sum(arrived), 0) as bigint) as one_side,
    cast(coalesce(sum(counted + held + sent_back + replaced + left_out), 0) as bigint) as other_side
from sheet_states
union all
select
    'grams counted at the scales = grams on members'' accounts',
    (
        select cast(coalesce(sum(net_kg), 0) * 1000 as bigint)
        from (
            select net_kg from weighings where state = 'counted'
            union all
            select net_kg from season_so_far where state = 'counted'
        )
    ),
    (select cast(coalesce(sum(net_kg), 0) * 1000 as bigint) from member_coffee)
union all
select
    'value on statements = value in the ledger',
    (select cast(coalesce(sum(value_minor), 0) as bigint) from member_season),
    (select cast(coalesce(sum(amount_minor), 0) as bigint) from transfers where what = 'coffee')
union all
select
    'deducted on statements = deducted in the ledger',
    (select cast(coalesce(sum(deducted_minor), 0) as bigint) from member_season),
    (select cast(coalesce(sum(amount_minor), 0) as bigint) from transfers where what = 'deduction')
union all
select
    'paid on statements = payments counted, less those that came back',
    (select cast(coalesce(sum(paid_minor), 0) as bigint) from member_season),
    (
        select cast(coalesce(sum(amount_minor), 0) as bigint)
        from (
            select amount_minor from payments where state = 'counted'
            union all
            select paid_minor from season_so_far where state = 'counted'
            union all
            select -amount_minor from money_entries where state = 'counted' and entry = 'returned'
        )
    )
union all
select
    'owed on statements = members'' accounts in the ledger',
    (select cast(coalesce(sum(balance_minor), 0) as bigint) from member_season),
    (
        select cast(coalesce(sum(
            case when to_account = 'member' then amount_minor else -amount_minor end
        ), 0) as bigint)
        from transfers
        where 'member' in (from_account, to_account)
    )
union all
select
    'second payments on statements = second payments posted',
    (select cast(coalesce(sum(second_minor), 0) as bigint) from member_season),
    (select cast(coalesce(sum(amount_minor), 0) as bigint) from second_payments where state = 'counted')
