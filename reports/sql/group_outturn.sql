-- Grain: one row per lot, station and change of form with weights before and after; grams, and between
-- which grams the outturn bounds and the dry-matter balance expect what came out.
select
    station, species, form_before, form_after, lot_no,
    sum(in_g)::bigint as in_g, sum(out_g)::bigint as out_g,
    sum(low_g)::bigint as low_g, sum(high_g)::bigint as high_g, sum(loss_g)::bigint as loss_g
from lot_steps
where form_before <> form_after and in_g > 0 and out_g is not null
group by station, species, form_before, form_after, lot_no
order by species, form_before, form_after, station, lot_no
