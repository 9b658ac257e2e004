-- Grain: one row per member, species and form delivered; counted weighings only.
insert into member_coffee
select
    w.member_no,
    w.species,
    w.form,
    count(*) as deliveries,
    sum(w.net_kg) as net_kg,
    sum(v.gbe_kg) as gbe_kg,
    cast(sum(v.value_minor) as bigint) as value_minor
from weighings as w
inner join valued as v on v.sheet_no = w.sheet_no and v.row_no = w.row_no
where w.state = 'counted'
group by w.member_no, w.species, w.form
order by w.member_no, w.species, w.form;
