"""Cases for kinds whose row is their declared example, from their declarations and beside them.

The row that is changed is the example, of a member and a station of the small book.
"""

from datetime import date, timedelta
from decimal import Decimal

from checks.rules import BY_CODE
from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.stored import DECIMALS
from tests.checks.cases import STRANGER, Case, days, fails, limit, passes
from tests.checks.lots import ALONE, LOT_CASES
from tests.checks.own import CASES, LEFT_OUT
from tests.checks.papers import BESIDE, PAPERS
from tests.take.small import ASHA, number

DECLARED = {name: kind for name, kind in kinds().items() if name not in CASES}

# The members that key the rows of kinds without a number of their own.
LISTED = tuple(number(n) for n in range(4000, 4140))

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
    day = kind.column(kind.day) if kind.day else None
    if day and day.not_above:
        # What comes after the day stays as long after it as in the example.
        after = date.fromisoformat(IN_WEEK[week]) - date.fromisoformat(day.example)
        later = date.fromisoformat(kind.column(day.not_above).example) + after
        fitting[day.not_above] = str(later)
    fitting |= ALONE.get(kind.name, {})
    if "stack" in cells:
        fitting["stack"] = f"OWN-{n}"
    own = next((c for c in kind.key if c not in (*fitting, "line")), "")
    if own and own not in ("balance_of", "species", "topic"):
        fitting[own] = f"OWN-{n}"
    elif kind.key:
        fitting["member_no"] = LISTED[n]
    return cells | {name: text for name, text in fitting.items() if name in cells} | changed


def two(kind: Kind, week: int) -> tuple[dict[str, str], dict[str, str]]:
    """Two rows that are not the same row, though nothing but words may tell them apart."""
    if kind.key:
        return sound_row(kind, 137, week), sound_row(kind, 138, week)
    words = next(c.name for c in kind.columns if c.type == "text" and c.name != "recorder")
    return sound_row(kind, week=week), sound_row(kind, week=week, **{words: "another"})


def _beside(kind: Kind, column: Column, text: str) -> tuple[str, ...]:
    return BESIDE.get((kind.name, column.name, text), ())


def _bounds(kind: Kind) -> list[Case]:
    """At each bound of each column, and the least step beyond it."""
    rule, found = "impossible-value", list[Case]()
    for column in kind.columns:
        places = 2 if column.type == "money" else DECIMALS.get(column.type, (0, 0))[1]
        step = Decimal(1).scaleb(-places)
        edges = [(Decimal(e), way) for e, way in ((column.least, -1), (column.most, 1)) if e]
        edges += [(Decimal(column.above) + step, -1)] if column.above else []
        found += [passes(rule)] if edges else []
        for edge, way in edges:
            on, off = f"{edge:f}", f"{edge + way * step:f}"
            found.append(limit(rule, *_beside(kind, column, on), **{column.name: on}))
            found.append(fails(rule, *_beside(kind, column, off), **{column.name: off}))
    return found


def _order(kind: Kind) -> list[Case]:
    """Each column that never exceeds another: where they are equal, and one step apart."""
    rule, found = "wrong-order", list[Case]()
    for column in kind.columns:
        if column.not_above:
            other = kind.column(column.not_above)
            same = sound_row(kind)[column.name]
            if column.type == "date":
                less = str(date.fromisoformat(same) - timedelta(days=1))
            else:
                less = str(int(same) - 1)
            found += [
                passes(rule),
                limit(rule, *_beside(kind, other, same), **{other.name: same}),
                fails(rule, *_beside(kind, other, less), **{other.name: less}),
            ]
    return found


def _days_gone(kind: Kind) -> list[Case]:
    """The day on which the sheets came in, and the day after it."""
    rule, found = "in-the-future", list[Case]()
    for column in kind.columns:
        if column.past and column.name != kind.day:
            on, off = "2026-06-30", "2026-07-01"
            found += [
                passes(rule),
                limit(rule, *_beside(kind, column, on), **{column.name: on}),
                fails(rule, *_beside(kind, column, off), **{column.name: off}),
            ]
    return found


def _cases(kind: Kind) -> list[Case]:
    unread = next(c.name for c in kind.columns if c.type in ("integer", "choice", "kg"))
    found = [
        passes("unreadable-cell"),
        fails("unreadable-cell", **{unread: "12.5.3"}),
        passes("missing-cell"),
        fails("missing-cell", **{needed(kind).name: ""}),
    ]
    if kind.has("day"):
        # A week is told by most of the days, so as many sound rows stand beside those far off.
        # What comes after the day is left out, and an answer with its day.
        after = kind.column("day").not_above
        without = {after: ""} if after else {}
        without |= {"answer": ""} if kind.has("answer") else {}
        found += [passes("outside-season")] * 8 + days(**without)
    if kind.has("station"):
        found += [passes("unknown-station"), fails("unknown-station", station="KEZ")]
    if kind.has("member_no"):
        found += [passes("unknown-member"), fails("unknown-member", member_no=STRANGER)]
    twice = next((c for c in ("listed-twice", "key-used-twice") if kind.name in BY_CODE[c].on), "")
    found += [*_bounds(kind), *_order(kind), *_days_gone(kind), *PAPERS.get(kind.name, [])]
    found += LOT_CASES.get(kind.name, [])
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
