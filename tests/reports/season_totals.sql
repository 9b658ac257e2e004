-- Grain: the worked-out tables of a test season, summed from its weighings, transfers and records.
insert into member_coffee
select w.member_no, w.species, w.form, count(*), sum(w.net_kg), sum(v.gbe_kg), sum(v.value_minor), null, null
from weighings as w join valued as v using (sheet_no, row_no)
where w.state = 'counted'
group by w.member_no, w.species, w.form;

insert into member_yield
select p.member_no, p.species, p.trees, p.trees_bearing, p.area_ha, coalesce(sum(c.gbe_kg), 0),
       round(coalesce(sum(c.gbe_kg), 0) / p.trees_bearing, 3), null
from plots as p left join member_coffee as c using (member_no, species)
where p.state = 'counted'
group by p.member_no, p.species, p.trees, p.trees_bearing, p.area_ha;

insert into member_season
with coffee as (
    select member_no, sum(deliveries) as deliveries, sum(gbe_kg) as gbe_kg, sum(value_minor) as value_minor
    from member_coffee group by member_no
),
money as (
    select member_no, sum(amount_minor) filter (what = 'deduction') as deducted,
           sum(amount_minor) filter (what = 'payment') as paid
    from transfers group by member_no
),
waits as (
    select member_no, count(*) as n, sum(net_kg) as kg from weighings
    where state in ('held', 'sent_back') group by member_no
),
held as (
    select member_no, sum(amount_minor) filter (balance_of = 'owed_by_member') as loan,
           sum(amount_minor) filter (balance_of = 'shares') as shares
    from opening_balances where state = 'counted' group by member_no
),
work as (
    select member_no, count(*) as n, count(distinct date_trunc('week', day)) as weeks,
           sum(cost_minor) as cost, sum(family_days) as family, sum(hired_days) as hired
    from farm_record where state = 'counted' group by member_no
)
select m.member_no, true, 0, coalesce(c.deliveries, 0), coalesce(c.gbe_kg, 0), coalesce(c.value_minor, 0), 0, 0, 0,
       coalesce(t.deducted, 0), coalesce(t.paid, 0),
       coalesce(c.value_minor, 0) - coalesce(t.deducted, 0) - coalesce(t.paid, 0),
       coalesce(o.loan, 0), coalesce(o.shares, 0), 0,
       coalesce(w.n, 0), coalesce(w.kg, 0), coalesce(f.n, 0), coalesce(f.weeks, 0), f.cost,
       f.family, f.hired
from members as m
left join coffee as c using (member_no)
left join money as t using (member_no)
left join waits as w using (member_no)
left join held as o using (member_no)
left join work as f using (member_no);
