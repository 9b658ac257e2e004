"""Near matches for what a row names and nobody knows: offered, never taken."""

from collections.abc import Callable, Iterable, Sequence

import duckdb
from rapidfuzz import process
from rapidfuzz.distance import DamerauLevenshtein

from pipeline.numbers import near_numbers
from pipeline.season.tables import rows

MOST = 3


def near_codes(code: str, known: Iterable[str]) -> list[str]:
    """Return known codes within one slip or one swap of neighbours, the nearest first.

    "KEZ" with KES and PAR known gives ["KES"]. Distance: Damerau-Levenshtein (package rapidfuzz).
    """
    found = process.extract(
        code, list(known), scorer=DamerauLevenshtein.distance, score_cutoff=1, limit=MOST
    )
    return [match for match, _, _ in found]


class NearMatches:
    """Looks up, in one season file, what an unknown value may have been meant to be."""

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        """Read what is known once; a look-up then costs no query."""
        self.members = dict(rows(con, "select member_no, name from known_members order by 1"))
        self.stations = dict(rows(con, "select station, name from stations order by 1"))
        self.scales = dict(rows(con, "select scale, station from scales order by 1"))
        self.grades = {
            grade: ""
            for (grade,) in rows(con, "select distinct grade from prices order by 1")
            if grade
        }
        self.looks: dict[str, tuple[dict[str, str], Callable[[str], Sequence[str]]]] = {
            "unknown-member": (
                self.members,
                lambda no: near_numbers(no, self.members.keys()) or near_codes(no, self.members),
            ),
            "unknown-station": (self.stations, lambda code: near_codes(code, self.stations)),
            "unknown-scale": (self.scales, lambda code: near_codes(code, self.scales)),
            "no-price": (self.grades, lambda code: near_codes(code, self.grades)),
        }

    def of(self, rule: str, value: str | None) -> list[str]:
        """Return up to three near matches as text, with their names: "10132 (Asha Doreme)"."""
        if rule not in self.looks or not value:
            return []
        names, look = self.looks[rule]
        return [f"{code} ({names[code]})" if names[code] else code for code in look(value)][:MOST]
