-- Grain: one row per member with coffee in a pool ($form; $species, $grade, $certificate, '' for all):
-- kilograms, what was paid for it at first, and why the member has no share of a second payment.
with coffee as (
    select
        w.member_no,
        cast(sum(w.net_kg) as decimal(14, 3)) as kg,
        cast(sum(coalesce(v.value_minor, 0) + coalesce(p.premium_minor, 0)) as bigint) as paid_minor
    from weighings as w
    left join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
    left join (
        select sheet_no, row_no,
            sum(case when to_account = 'member' then amount_minor else -amount_minor end) as premium_minor
        from transfers
        where what = 'premium'
        group by sheet_no, row_no
    ) as p on p.sheet_no = w.sheet_no and p.row_no = w.row_no
    where w.state = 'counted' and w.form = $form
        and $species in ('', w.species) and $grade in ('', w.grade)
        and $certificate in ('', coalesce(w.certificate, ''))
    group by w.member_no
),
register as (
    select
        member_no, max_by(name, (sheet_no, row_no)) as name,
        max_by(joined, (sheet_no, row_no)) as joined, max(left_on) as left_on
    from members
    where state = 'counted'
    group by member_no
)
select
    c.member_no, m.name, c.kg, c.paid_minor,
    case
        when m.member_no is null then 'not in the register'
        when m.joined > $member_on then 'joined on ' || m.joined
        when m.left_on <= $member_on then 'left on ' || m.left_on
        when c.kg < $least_kg then 'less than ' || $least_kg || ' kg'
    end as why_not
from coffee as c
left join register as m on m.member_no = c.member_no
order by c.member_no
