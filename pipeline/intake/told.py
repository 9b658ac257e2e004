"""What is said of a sheet as a whole: notes and refusals, a code and details, as a sentence.

Stored are code and details; the sentence stands in `words/`, in each language, and is made where
somebody reads it.
"""

import json
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.words import said, said_detail, word_table

# Why a sheet is not read, as the journal holds it: code and details; older journals a sentence
# behind its code; a season file the first as JSON.
Problem = Mapping[str, Any] | str | None
# Of a refusal, several details of one place: kinds that may be meant, ways to say which.
OR = " / "


def fill(sentence: str, details: Sequence[str]) -> str:
    """Put details into the places {0}, {1}, ... of a sentence.

    In one pass and not by str.format: a detail comes out of a cell and may hold braces.
    """

    def filled(place: re.Match[str]) -> str:
        number = int(place[1])
        return details[number] if number < len(details) else "..."

    return re.sub(r"\{([0-9])\}", filled, sentence)


def note_sentence(code: str, details: Sequence[str], language: str = "en") -> str:
    """Return a note on a sheet as a sentence; KeyError where the language lacks it.

    A detail out of the sheet stays as it is: only what the reader itself put there is translated.
    """
    return _sentence("notes", code, details, language)


def refusal_sentence(code: str, details: Sequence[str], language: str = "en") -> str:
    """Return why a sheet is not read as a sentence; KeyError where the language lacks it."""
    return _sentence("refusals", code, details, language)


def note_said(note: Mapping[str, Any], language: str) -> str:
    """Return a stored note as a sentence; one that an older version stored stays as it is."""
    if "details" not in note:
        return note["sentence"]
    return note_sentence(note["code"], note["details"], language)


def stored_problem(problem: Problem) -> str | None:
    """Return why a sheet is not read as a season file keeps it."""
    if problem is None or isinstance(problem, str):
        return problem
    return json.dumps(problem, ensure_ascii=False)


def problem_said(problem: Problem, kind: str | None, language: str) -> str:
    """Return why a sheet is not read, or what it lacks, as a sentence; "" where nothing is wrong.

    `problem`: as the journal or a season file holds it; `kind`: that of a sheet that lacks columns.
    What an older version stored is a code and a finished sentence, and stays as it is.
    """
    if isinstance(problem, str) and problem.startswith("{"):
        problem = json.loads(problem)
    if problem is None or isinstance(problem, str):
        return (problem or "").partition(": ")[2]
    code: str = problem["code"]
    details: list[str] = problem["details"]
    if code == "missing-column" and kind:
        return _missing(kinds()[kind], details, language)
    return refusal_sentence(code, details, language)


def _missing(kind: Kind, details: Sequence[str], language: str) -> str:
    """Say which columns a sheet lacks; `details`: of each its name, the heading perhaps meant."""
    lacking: list[str] = []
    for name, near in zip(details[::2], details[1::2], strict=True):
        heading = kind.column(name).spellings[language][0]
        lacking.append(fill(said("meant", language), [heading, near]) if near else heading)
    code = "missing-columns" if lacking[1:] else "missing-column"
    return refusal_sentence(code, [", ".join(lacking)], language)


def _sentence(table: str, code: str, details: Sequence[str], language: str) -> str:
    words = word_table(table if language == "en" else f"{table}.{language}")
    told = list(details)
    for place, own in OWN.get(code, {}).items():
        if place < len(told):
            told[place] = own(told[place], language)
    return fill(words[code], told)


def _titles(names: str, language: str) -> str:
    """Return the titles of kinds: "weighings / lots" gives "Station weighings / Lots"."""
    return OR.join(kinds()[name].titles[language] for name in names.split(OR))


def _heading(column: str, language: str) -> str:
    """Return the usual heading of a column that is named with its kind: "weighings.gross_kg"."""
    kind, _, name = column.partition(".")
    return kinds()[kind].column(name).spellings[language][0]


SETTLED = (
    *("decimal-by-sheet", "decimal-by-scale", "decimal-by-book"),
    *("dates-by-sheet", "dates-by-week", "dates-by-season", "dates-by-book"),
)
# Which details are words of ours, and how they are said; all others come out of the sheet.
OWN: dict[str, dict[int, Callable[[str, str], str]]] = {
    "doubtful-kind": {0: _titles},
    "doubtful-heading": {4: _heading},
    **{code: {0: said_detail} for code in SETTLED},
}
