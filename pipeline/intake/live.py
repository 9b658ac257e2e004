"""The SQL of a kind's rows: those that are live, what names each in every version, their states."""

from pipeline.intake.kinds import Kind


def live_rows(kind: Kind, among: str) -> str:
    """Return SQL for rows that no later version of their sheet replaces: `row_key`, `has_key`.

    `among`: `rows_<kind>`, or some of them; keys are dear, and worked out for these rows only.
    """
    return (
        f"select r.*, {row_key(kind)} as row_key, {has_key(kind)} as has_key from {among} r "
        "inner join sheets s on s.sheet_no = r.sheet_no "
        f"anti join succession g on g.kind = '{kind.name}' and g.by_row_no is not null "
        "and g.sheet_no = r.sheet_no and g.row_no = r.row_no"
    )


def stated_rows(kind: str, among: str) -> str:
    """Return SQL for a kind's rows with their states; `among`: `rows_<kind>`, or some of them."""
    return (
        f"select r.*, coalesce(e.state, 'counted'::row_state) as state from {among} r "
        f"left join exceptions e on e.kind = '{kind}' "
        "and e.sheet_no = r.sheet_no and e.row_no = r.row_no"
    )


def has_key(kind: Kind) -> str:
    """Return SQL that tells whether a row's key is whole; a row without one goes by its content."""
    return " and ".join(f"r.{name} is not null" for name in kind.key) or "true"


def row_key(kind: Kind) -> str:
    """Return SQL for what names a row in every version of its sheet."""
    if kind.key:
        # What is not given is left out, and the others say what they are.
        also = [f"'{name} ' || r.{name}" for name in kind.key_also]
        whole = ", ".join([*(f"r.{name}" for name in kind.key), *also])
        return (
            f"case when {has_key(kind)} then concat_ws('|', {whole}) "
            "else s.slot || ' row ' || r.row_no end"
        )
    content = ", ".join(f"coalesce(cast(r.{c.stored} as varchar), '')" for c in kind.columns)
    return f"left(sha256(concat_ws('|', {content})), 16)"
