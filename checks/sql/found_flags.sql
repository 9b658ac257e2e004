-- Grain: one row per flag, made from `found` (one row per rule and doubtful row) with its number.
-- The number stays the same in every version of a sheet: rule, kind, what it is about (its row's key, or
-- what a finding on many rows names) and column, and which of several equal rows it is.
insert into flags
with counted as (
    select
        *,
        row_number() over (
            partition by rule, kind, named, col order by sheet_no, row_no
        ) as ordinal
    from found
)
select
    left(sha256(concat_ws('|', rule, kind, named, col, ordinal)), 16) as flag,
    rule,
    severity,
    kind,
    sheet_no,
    row_no,
    row_key,
    col,
    value,
    facts,
    left(sha256(judged), 16) as value_hash,
    measure,
    holds_to,
    kg_at_stake,
    minor_at_stake,
    null as decision,
    null as decision_n
from counted
order by rule, kind, sheet_no, row_no, col;
