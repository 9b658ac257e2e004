-- Grain: one row per kind of movement whose sum over the members' totals is not the ledger's, or
-- whose ledger sum is not that of the rows it came from. None where the money adds up.
with ledger as (
    select what, cast(sum(amount_minor) as hugeint) as amount_minor
    from transfers
    group by what
),
members_sum as (
    select 'opening' as what, sum(opening_minor) as amount_minor from member_season
    union all
    select 'coffee', sum(value_minor) from member_season
    union all
    select 'deduction', sum(deducted_minor) from member_season
    union all
    select 'payment', sum(paid_minor) from member_season
),
source as (
    select what, sum(amount_minor) as amount_minor
    from (
        select 'coffee' as what, v.value_minor as amount_minor
        from weighings as w
        inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
        where w.state = 'counted'
        union all
        select 'coffee', value_minor from season_so_far where state = 'counted'
        union all
        select 'payment', amount_minor from payments where state = 'counted'
        union all
        select 'payment', paid_minor from season_so_far where state = 'counted'
    )
    group by what
)
select 'statements' as where_found, m.what, m.amount_minor as one, l.amount_minor as other
from members_sum as m
left join ledger as l on l.what = m.what
where coalesce(m.amount_minor, 0) <> coalesce(l.amount_minor, 0)
union all
select 'rows', coalesce(s.what, l.what), s.amount_minor, l.amount_minor
from source as s
full join (select * from ledger where what in ('coffee', 'payment')) as l on l.what = s.what
where coalesce(s.amount_minor, 0) <> coalesce(l.amount_minor, 0)
union all
select 'record', 'cost', c.amount_minor, r.amount_minor
from (select sum(record_cost_minor) as amount_minor from member_season) as c
cross join (
    select sum(f.cost_minor) as amount_minor
    from farm_record as f
    inner join member_season as m on m.member_no = f.member_no
    where f.state = 'counted'
) as r
where coalesce(c.amount_minor, 0) <> coalesce(r.amount_minor, 0)
union all
select 'balance', 'balance', sum(balance_minor), sum(opening_minor + value_minor - deducted_minor - paid_minor)
from member_season
having sum(balance_minor) <> sum(opening_minor + value_minor - deducted_minor - paid_minor)
