"""Rows for every rule: one that passes, one that fails and, where it compares, one at the limit.

Each case is one row of a sheet: its changed cells, the rule that it is about, and every flag that
it must get. All cases of a kind stand in one sheet, and all sheets in one book.
"""

from dataclasses import dataclass, field

from tests.take.small import ASHA, SETTINGS, number

PASSES, FAILS, LIMIT = "passes", "fails", "limit"

STRANGER = number(7777)
MISTYPED = ASHA[:-1] + str((int(ASHA[-1]) + 1) % 10)
OWED, OVERPAID = number(1004), number(1005)
TREES_OK, TREES_HIGH, LAND_OK, LAND_HIGH = (number(n) for n in (1006, 1007, 1008, 1009))
LEFT = number(1010)
OTHERS = (OWED, OVERPAID, TREES_OK, TREES_HIGH, LAND_OK, LAND_HIGH)

# Rules that ask whether something is there or the same: there is no value just inside or outside.
NO_LIMIT = frozenset(
    {
        "unreadable-cell",
        "missing-cell",
        "missing-column",
        "unknown-station",
        "unknown-scale",
        "scale-of-another-station",
        "unknown-member",
        "unknown-plot",
        "member-number-check",
        "listed-twice",
        "receipt-line-twice",
        "payment-twice",
        "key-used-twice",
        "gone-from-later-version",
        "moisture-missing",
        "record-row-empty",
        "spraying-without-label",
        "credit-not-signed",
        "price-needs-moisture",
        "same-reference-twice",
        "for-unknown-season",
        "entry-without-authority",
        "entry-names-nothing",
        "moved-to-nobody",
        "answer-without-day",
        "lot-in-a-loop",
        "lot-without-weight",
        "lot-source-unknown",
    }
)


def _scale(code: str, interval: str, verified: str) -> str:
    return (
        f'\n[[scale]]\ncode = "{code}"\nstation = "KES"\ncapacity_kg = "150"\n'
        f'interval_kg = "{interval}"\nclass = "III"\n'
        + (f"verified = {verified}\n" if verified else "")
    )


# A limit that only a cooperative can know, set for one form at one station.
_OWN_LIMIT = """
[[limit]]
name = "dry_first_days"
form = "dry_cherry"
station = "ARD"
value = "3"
because = "Picking begins on the first day of the season"

[[limit]]
name = "dry_first_days"
form = "parchment"
value = "0"
because = "Picking begins before the season"
"""

# Beside the scales of every small book: a fine one, two near a year old, one never verified.
CHECK_SETTINGS = (SETTINGS + _OWN_LIMIT) + "".join(
    _scale(code, interval, verified)
    for code, interval, verified in (
        ("KES-FINE", "0.05", "2026-02-10"),
        ("KES-YEAR", "0.1", "2025-05-04"),
        ("KES-OVER", "0.1", "2025-05-03"),
        ("KES-NEVER", "0.1", ""),
    )
)


@dataclass(frozen=True)
class Case:
    """One row: which rule it is about and in what part, its cells, and the flags it must get."""

    rule: str
    part: str
    cells: dict[str, str] = field(default_factory=dict)
    flags: frozenset[str] = frozenset()


def passes(rule: str, *beside: str, **cells: str) -> Case:
    return Case(rule, PASSES, cells, frozenset(beside))


def fails(rule: str, *beside: str, **cells: str) -> Case:
    return Case(rule, FAILS, cells, frozenset({rule, *beside}))


def limit(rule: str, *flags: str, **cells: str) -> Case:
    """A row right at the limit or the least step beyond; `flags`: all that it must get."""
    return Case(rule, LIMIT, cells, frozenset(flags))


# Whether a cell can be read or is there at all is asked of every kind in the same way.
def cells_of(unreadable: dict[str, str], missing: dict[str, str]) -> list[Case]:
    return [
        passes("unreadable-cell"),
        fails("unreadable-cell", **unreadable),
        passes("missing-cell"),
        fails("missing-cell", **missing),
    ]


def days(**more: str) -> list[Case]:
    """The season's days, and the day on which the sheets came in: 2026-06-30."""
    return [
        passes("outside-season", day="2026-05-04", **more),
        limit("outside-season", day="2026-03-30", **more),
        limit("outside-season", "outside-season", day="2026-03-29", **more),
        fails("outside-season", day="2025-05-04", **more),
        fails("outside-season", "in-the-future", day="2026-10-05", **more),
        passes("in-the-future", day="2026-06-29", **more),
        limit("in-the-future", day="2026-06-30", **more),
        limit("in-the-future", "in-the-future", day="2026-07-01", **more),
        # The season's last day is in it, though it is still to come.
        fails("in-the-future", day="2026-10-04", **more),
    ]
