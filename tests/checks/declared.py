"""Cases of the general rules for kinds without rules of their own, from their declarations.

The row that is changed is the declared example, of a member and a station of the small book.
"""

from checks.rules import BY_CODE
from pipeline.intake.kinds import Column, Kind, kinds
from tests.checks.cases import CASES, LEFT_OUT, STRANGER, Case, days, fails, passes
from tests.take.small import ASHA, number

DECLARED = {name: kind for name, kind in kinds().items() if name not in CASES}

# The members that key the rows of kinds without a number of their own.
LISTED = tuple(number(n) for n in range(4000, 4040))

IN_WEEK = {19: "2026-05-04", 20: "2026-05-11", 21: "2026-05-18"}


def needed(kind: Kind) -> Column:
    """The last column that a row must have and that does not tell sheets or rows apart."""
    told_apart = {*kind.key, *kind.slot, kind.day, "member_no"}
    own = [c for c in kind.columns if c.required and c.name not in told_apart]
    return own[-1] if own else kind.column(kind.day)


def sound_row(kind: Kind, n: int = 0, week: int = 19, **changed: str) -> dict[str, str]:
    """The declared example as a row of the small book; rows of another `n` have another key."""
    cells = {column.name: column.example for column in kind.columns}
    fitting = {"member_no": ASHA, "station": "KES", kind.day: IN_WEEK[week]}
    own = next((c for c in kind.key if c not in (*fitting, "line")), "")
    if own and own not in ("balance_of", "species", "topic"):
        fitting[own] = f"OWN-{n}"
    elif kind.key:
        fitting["member_no"] = LISTED[n]
    return cells | {name: text for name, text in fitting.items() if name in cells} | changed


def two(kind: Kind, week: int) -> tuple[dict[str, str], dict[str, str]]:
    """Two rows that are not the same row, though nothing but words may tell them apart."""
    if kind.key:
        return sound_row(kind, 37, week), sound_row(kind, 38, week)
    words = next(c.name for c in kind.columns if c.type == "text" and c.name != "recorder")
    return sound_row(kind, week=week), sound_row(kind, week=week, **{words: "another"})


def _cases(kind: Kind) -> list[Case]:
    unread = next(c.name for c in kind.columns if c.type in ("integer", "choice"))
    found = [
        passes("unreadable-cell"),
        fails("unreadable-cell", **{unread: "12.5.3"}),
        passes("missing-cell"),
        fails("missing-cell", **{needed(kind).name: ""}),
    ]
    if kind.has("day"):
        # A week is told by most of the days, so as many sound rows stand beside those far off.
        found += [passes("outside-season")] * 8 + days()
    if kind.has("station"):
        found += [passes("unknown-station"), fails("unknown-station", station="KEZ")]
    if kind.has("member_no"):
        found += [passes("unknown-member"), fails("unknown-member", member_no=STRANGER)]
    twice = next((c for c in ("listed-twice", "key-used-twice") if kind.name in BY_CODE[c].on), "")
    whole = [
        Case(case.rule, case.part, sound_row(kind, n) | case.cells, case.flags)
        for n, case in enumerate(found)
    ]
    if twice:
        same = sound_row(kind, len(found))
        whole += [passes(twice, **same), fails(twice, **same)]
    return whole


ALL_CASES = CASES | {name: _cases(kind) for name, kind in DECLARED.items()}
ALL_LEFT_OUT = LEFT_OUT | {name: needed(kind).name for name, kind in DECLARED.items()}
