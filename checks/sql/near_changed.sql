-- Grain: one row per kind whose rows changed ('rows'), with those of this kind ($kind) that are gone, and per kind or
-- table through which a member's were touched ('members').
select distinct 'rows' as what, kind from touched
union
select 'rows', $kind from near_touched
union
select 'members', through from touched_members
