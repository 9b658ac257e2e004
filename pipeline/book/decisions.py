"""Decisions as the journal holds them: on which flags, which were taken back, what was asked."""

from collections.abc import Iterator
from typing import Any

from pipeline.book.journal import Journal, Line

# A decision: the number of its line, and the flag that it is on.
Place = tuple[int, str]


def judged(line: Line, season: str | None = None) -> list[dict[str, Any]]:
    """Return what a line decided, all of it or that of a season: one dict a flag, each with action,
    reason and name.

    A line written for one flag alone holds the flag's own keys beside them.
    """
    body = line.body
    if line.what != "decided":
        return []
    shared = {key: value for key, value in body.items() if key != "on"}
    every = [shared | one for one in body["on"]] if "on" in body else [body]
    return [one for one in every if season is None or one["season"] in ("", season)]


def concerned(line: Line, season: str) -> bool:
    """Tell whether a line decides, or takes back, something in a season."""
    if line.what == "taken-back":
        return line.body["season"] in ("", season)
    return bool(judged(line, season))


def taken_back(journal: Journal) -> set[Place]:
    """Return the decisions that a later line took back."""
    return {
        (line.body["of"], line.body["flag"]) for line in journal.lines if line.what == "taken-back"
    }


def standing_decisions(journal: Journal, since: int = 0) -> Iterator[tuple[Line, dict[str, Any]]]:
    """Yield line and decision, a flag each, of all that stand; those of lines after `since`."""
    gone = taken_back(journal)
    for line in journal.lines[since:]:
        for one in judged(line):
            if (line.n, one["flag"]) not in gone:
                yield line, one


def changes_no_row(line: Line) -> bool:
    """Tell whether a line counts rows or leaves them out, or takes that back, and no more."""
    return line.what in ("decided", "taken-back") and line.body["action"] != "amend"


def needs_all_anew(line: Line) -> bool:
    """Tell whether a line takes back an amendment: the cell's own value is in its sheet alone."""
    return line.what == "taken-back" and line.body["action"] == "amend"


def told(number: str, line: Line, one: dict[str, Any]) -> str:
    """Say in a sentence what a line decided on a flag."""
    value = f' to "{one["new_value"]}"' if "new_value" in one else ""
    return (
        f"{number} was decided on {line.at[:10]} by {one['by']}: {one['action']}{value} "
        f"({one['because']})."
    )
