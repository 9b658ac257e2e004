"""Judges the flags of a season with faults against what was planted and the season without."""

from collections import Counter
from dataclasses import dataclass

from checks.rules import beside, slips
from pipeline.samples.sheets import week_name
from pipeline.trial.honest import Season
from pipeline.trial.planting import Place, Planted, Planting
from pipeline.trial.season_book import Seen

LOOKED_AT = 20
# What names a slip in one line says nothing about a run of lines that were made up or read off.
ABOUT_ONE_LINE = frozenset(rule.code for rule in (*slips.RULES, *beside.RULES))
GRAVEST = ("send_back", "hold", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One planted fault: the rules that found it, none where it was missed, and the gravest.

    `traced`: whether it leaves any trace in these data; see `Planted`.
    """

    kind: str
    rules: tuple[str, ...]
    severity: str
    traced: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What one season gave; see `Trial` for what is counted."""

    stations: int
    findings: tuple[Finding, ...]
    honest_rows: int
    all_rows: int
    false_held: int
    false_noted: int
    honest_held: int
    honest_noted: int
    false_rules: Counter[str]
    honest_rules: Counter[str]
    first20: tuple[float, ...]
    questions: int
    honest_questions: int


def judge(honest: Season, planting: Planting, without: list[Seen], seen: list[Seen]) -> Judged:
    """Judge a season: `without`, the flags of the honest one; `seen`, of the one with faults."""
    before = {(one.flag.rule, one.place) for one in without}
    own = _own_rows(planting.planted)
    new: dict[Place, list[Seen]] = {}
    for one in seen:
        if (one.flag.rule, one.place) not in before:
            new.setdefault(one.place, []).append(one)
    every = {
        (kind, row["_id"])
        for kind, rows in planting.season.rows.items()
        for row in rows
        if (kind, row["_id"]) not in planting.gone
    }
    explained = {place for fault in planting.planted for place in fault.rows | fault.beside}
    honest_places = every - explained
    false = [one for one in seen if one.place in honest_places]
    return Judged(
        stations=len(honest.places),
        findings=tuple(_finding(fault, new, own) for fault in planting.planted),
        honest_rows=len(honest_places),
        all_rows=sum(len(rows) for rows in honest.rows.values()),
        false_held=_rows_with(false, held=True),
        false_noted=_rows_with(false, held=False),
        honest_held=_rows_with(without, held=True),
        honest_noted=_rows_with(without, held=False),
        false_rules=Counter(one.flag.rule for one in false),
        honest_rules=Counter(one.flag.rule for one in without),
        first20=_first_money(planting.planted, seen),
        questions=_questions(planting.season, seen),
        honest_questions=_questions(honest, without),
    )


def _own_rows(planted: list[Planted]) -> set[Place]:
    """Return the rows of faults that stand in single rows, which find no group around them."""
    return {place for fault in planted if not fault.group for place in fault.rows}


def _finding(fault: Planted, new: dict[Place, list[Seen]], own: set[Place]) -> Finding:
    places = fault.rows - own if fault.group else fault.rows
    hits = [
        one
        for place in places
        for one in new.get(place, [])
        if not (fault.group and one.flag.rule in ABOUT_ONE_LINE)
    ]
    rules = tuple(sorted({one.flag.rule for one in hits}))
    severity = min((one.flag.severity for one in hits), key=GRAVEST.index, default="")
    return Finding(
        kind=fault.kind, rules=rules, severity=severity, traced=fault.traced or bool(rules)
    )


def _rows_with(seen: list[Seen], *, held: bool) -> int:
    return len({one.place for one in seen if (one.flag.severity != "note") == held})


def _questions(season: Season, seen: list[Seen]) -> int:
    """Return how many causes there are: rule, station, week and recorder."""
    return len(
        {
            (
                one.flag.rule,
                one.flag.station,
                one.flag.week,
                season.rows[one.place[0]][one.place[1]].get("recorder"),
            )
            for one in seen
        }
    )


def _first_money(planted: list[Planted], seen: list[Seen]) -> tuple[float, ...]:
    """Return for each week with money at fault what share of it the first flags stand on.

    A flag stands on a fault's money where it is on a row at fault, whichever rule it is of. Faults
    of groups have no money of their own.
    """
    weeks: dict[int, list[Planted]] = {}
    for fault in planted:
        if fault.cents and not fault.group:
            weeks.setdefault(fault.week, []).append(fault)
    by_week: dict[str, list[Place]] = {}
    for one in seen:
        by_week.setdefault(one.flag.week, []).append(one.place)
    shares: list[float] = []
    for week, faults in sorted(weeks.items()):
        first = set(by_week.get(week_name(week), [])[:LOOKED_AT])
        held = sum(fault.cents for fault in faults if first & fault.rows)
        shares.append(held / sum(fault.cents for fault in faults))
    return tuple(shares)
