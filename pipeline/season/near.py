"""Near matches for what a row names and nobody knows: offered, never taken."""

from collections.abc import Iterable, Mapping

import duckdb
from rapidfuzz import fuzz, process, utils
from rapidfuzz.distance import DamerauLevenshtein

from pipeline.intake.characters import digits_meant
from pipeline.numbers import near_numbers
from pipeline.season.tables import rows

MOST = 3
# How alike two names are, of 100, before one is offered for the other.
ALIKE = 80


def near_codes(code: str, known: Iterable[str]) -> list[str]:
    """Return known codes within one slip or one swap of neighbours, the nearest first.

    "KEZ" with KES and PAR known gives ["KES"]. Distance: Damerau-Levenshtein (package rapidfuzz).
    """
    found = process.extract(
        code, list(known), scorer=DamerauLevenshtein.distance, score_cutoff=1, limit=MOST
    )
    return [match for match, _, _ in found]


def near_names(name: str, known: Mapping[str, str]) -> list[str]:
    """Return the numbers of members whose names are much like a name, the most alike first.

    Capitals and the order of a name's words do not matter: "doreme asha" is Asha Doreme.
    """
    found = process.extract(
        name,
        known,
        scorer=fuzz.token_sort_ratio,
        processor=utils.default_process,
        score_cutoff=ALIKE,
        limit=MOST,
    )
    return [number for _, _, number in found]


# Rules whose flags offer what is near; for others nothing is looked up.
OFFERED = (
    *("missing-column", "unknown-member", "unknown-plot", "unknown-station", "unknown-scale"),
    "no-price",
)


class NearMatches:
    """Looks up, in one season file, what an unknown value may have been meant to be."""

    def __init__(self, con: duckdb.DuckDBPyConnection) -> None:
        """Read what is known once; a look-up then costs no query."""
        self.members = dict(rows(con, "select member_no, name from known_members order by 1"))
        self.stations = dict(rows(con, "select station, name from stations order by 1"))
        self.scales = dict(rows(con, "select scale, station from scales order by 1"))
        self.grades: dict[tuple[str, str], dict[str, str]] = {}
        for species, form, grade in rows(
            con,
            "select distinct species, form, grade from prices "
            "where grade is not null order by species, form, grade",
        ):
            self.grades.setdefault((species, form), {})[grade] = ""
        self.plots: dict[str, dict[str, str]] = {}
        for member_no, plot_no in rows(con, "select member_no, plot_no from known_plots"):
            self.plots.setdefault(member_no, {})[plot_no] = ""

    def of(self, rule: str, value: str | None, facts: Mapping[str, str | None]) -> list[str]:
        """Return up to three near matches as text, with their names: "10132 (Asha Doreme)"."""
        if rule == "missing-column":
            heading = facts.get("near_heading")
            return [heading] if heading else []
        if not value:
            return []
        if rule == "unknown-member":
            known = self.members
            found = (
                near_numbers(value, known.keys()) or near_codes(value, known)
                if any(letter.isdigit() for letter in value)
                # Somebody wrote the name where the number belongs.
                else near_names(value, known)
            )
        elif rule == "unknown-plot":
            # A member has few plots: all of them are offered.
            known = self.plots.get(facts.get("member_no") or "", {})
            found = list(known)
        else:
            tables = {
                "unknown-station": self.stations,
                "unknown-scale": self.scales,
                # Only grades that have a price for this very coffee.
                "no-price": self.grades.get((facts.get("species") or "", facts.get("form") or "")),
            }
            known = tables.get(rule) or {}
            found = near_codes(value, known)
        meant = digits_meant(value)
        if meant is not None and meant in known:
            # "1OO43": letters were typed for the digits that they look like.
            found = [meant]
        return [f"{code} ({known[code]})" if known[code] else code for code in found][:MOST]
