"""How well the checks find faults: seasons with known faults beside the same seasons without any.

Each season is sent through the real path twice. A fault is found by a flag that the honest season
does not have, on a row at fault; so what a rule says about honest coffee finds nothing.
"""

import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.trial.honest import WEEKS, Season, honest_season
from pipeline.trial.judged import Judged, judge
from pipeline.trial.planting import Planting, plant_all
from pipeline.trial.plants import BY_KIND, FAULTS
from pipeline.trial.season_book import flags_of

# Plants, rules and limits are looked at on these seeds; a season measured is of another.
TUNED_ON = (*range(1, 101), *range(1101, 1121), *range(1201, 1213))
USUAL_MEMBERS = 600
CAUSE_UNKNOWN = "No rule looks at this yet, or none sees it in these rows."


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of fault over all seasons: how many were planted and found, and by which rules.

    `findable`: those that leave a trace in these data, such as a member's record beside the line.
    `by_severity`: of those found, by the gravest of the flags: sent back, held or noted.
    """

    kind: str
    fault_class: str
    planted: int
    findable: int
    found: int
    rules: dict[str, int]
    by_severity: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """A kind of fault of which some were not found, and why that is so."""

    kind: str
    missed: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """What the seasons gave.

    `false_hold_share`, `false_note_share`: honest rows (neither at fault nor explained by a fault)
    with a flag of that severity, of all honest rows, in the seasons with faults; sent-back rows
    count as held. `honest_hold_share`, `honest_note_share`: the same of all rows of the seasons
    without faults. `false_rules`: by which rules, in both. `questions_a_week`: flags of the seasons
    with faults by cause (rule, station, week, recorder), a week; `honest_questions_a_week` without
    faults. `first20_money_share`: of the money of the rows at fault in a week's sheets, what the
    first 20 flags of these sheets stand on, on average over the weeks. `class_shares`: found of all
    that were planted; `findable_shares`: of those that leave a trace.
    """

    seeds: list[int]
    tuned_on: list[int]
    members: int
    stations: int
    rows: int
    kinds: list[Kind]
    class_shares: dict[str, float]
    findable_shares: dict[str, float]
    false_hold_share: float
    false_note_share: float
    honest_hold_share: float
    honest_note_share: float
    false_rules: dict[str, int]
    honest_rules: dict[str, int]
    first20_money_share: float
    questions_a_week: float
    honest_questions_a_week: float
    missed: list[Missed]


def measure_faults(
    seeds: Sequence[int], people: int, progress: Callable[[int], None] | None = None
) -> Trial:
    """Draw a season of so many members for each seed, plant the faults, and judge the flags."""
    judged: list[Judged] = []
    for seed in seeds:
        judged.append(judged_season(seed, people))
        if progress:
            progress(seed)
    return _together(seeds, people, judged)


def judged_season(seed: int, people: int) -> Judged:
    """Send one season through the real path, with faults and without, and judge its flags."""
    honest = honest_season(seed, people)
    planting = planted_season(honest, seed, people)
    with tempfile.TemporaryDirectory() as folder:
        without = flags_of(Path(folder) / "honest", honest)
        with_faults = flags_of(
            Path(folder) / "faults", planting.season, planting.texts, planting.gone
        )
    return judge(honest, planting, without, with_faults)


def planted_season(honest: Season, seed: int, people: int) -> Planting:
    """Plant every kind of fault in a copy of an honest season."""
    rows = {kind: [dict(row) for row in of_kind] for kind, of_kind in honest.rows.items()}
    season = Season(places=honest.places, rows=rows, late=honest.late)
    return plant_all(season, seed, FAULTS, people / USUAL_MEMBERS)


def _together(seeds: Sequence[int], people: int, judged: list[Judged]) -> Trial:
    kinds = [_kind(fault.kind, judged) for fault in FAULTS]
    weeks = WEEKS * len(judged)
    money = [share for one in judged for share in one.first20]
    return Trial(
        seeds=list(seeds),
        tuned_on=[seed for seed in seeds if seed in TUNED_ON],
        members=people,
        stations=judged[0].stations,
        rows=sum(one.all_rows for one in judged),
        kinds=kinds,
        class_shares=_class_shares(kinds, lambda kind: kind.planted),
        findable_shares=_class_shares(kinds, lambda kind: kind.findable),
        false_hold_share=_share(
            [one.false_held for one in judged], [one.honest_rows for one in judged]
        ),
        false_note_share=_share(
            [one.false_noted for one in judged], [one.honest_rows for one in judged]
        ),
        honest_hold_share=_share(
            [one.honest_held for one in judged], [one.all_rows for one in judged]
        ),
        honest_note_share=_share(
            [one.honest_noted for one in judged], [one.all_rows for one in judged]
        ),
        false_rules=_most_common(one.false_rules for one in judged),
        honest_rules=_most_common(one.honest_rules for one in judged),
        first20_money_share=round(sum(money) / len(money), 4) if money else 0.0,
        questions_a_week=round(sum(one.questions for one in judged) / weeks, 2),
        honest_questions_a_week=round(sum(one.honest_questions for one in judged) / weeks, 2),
        missed=[_missed(kind) for kind in kinds if kind.found < kind.planted],
    )


def _share(counts: list[int], of: list[int]) -> float:
    return round(sum(counts) / sum(of), 6) if sum(of) else 0.0


def _most_common(counters: Iterable[Counter[str]]) -> dict[str, int]:
    total: Counter[str] = Counter()
    for counter in counters:
        total.update(counter)
    return dict(sorted(total.items(), key=lambda pair: (-pair[1], pair[0])))


def _kind(name: str, judged: list[Judged]) -> Kind:
    found = [finding for one in judged for finding in one.findings if finding.kind == name]
    hits = [finding for finding in found if finding.rules]
    return Kind(
        kind=name,
        fault_class=BY_KIND[name].of,
        planted=len(found),
        findable=sum(finding.traced for finding in found),
        found=len(hits),
        rules=_most_common(Counter(finding.rules) for finding in hits),
        by_severity=_most_common(Counter([finding.severity]) for finding in hits),
    )


def _class_shares(kinds: list[Kind], of: Callable[[Kind], int]) -> dict[str, float]:
    classes = dict.fromkeys(kind.fault_class for kind in kinds)
    return {
        name: _share(
            [kind.found for kind in kinds if kind.fault_class == name],
            [of(kind) for kind in kinds if kind.fault_class == name],
        )
        for name in classes
    }


def _missed(kind: Kind) -> Missed:
    why = BY_KIND[kind.kind].cannot or CAUSE_UNKNOWN
    return Missed(kind=kind.kind, missed=kind.planted - kind.found, why=why)
