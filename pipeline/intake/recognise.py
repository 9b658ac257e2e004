"""What kind of sheet this is, and which station, week and recorder it speaks for."""

import re
from functools import lru_cache

import polars as pl
from rapidfuzz import fuzz, process

from pipeline.intake.corrected import own_headings
from pipeline.intake.found import Cells, Doubtful, Note, NotRead, shortened
from pipeline.intake.headings import heading_key, heading_languages, languages_mixed
from pipeline.intake.kinds import Column, Kind, choices, kinds
from pipeline.intake.odd import ALIKE, NUMBERS
from pipeline.intake.told import OR

# Two kinds whose scores differ by less are within reach of each other.
REACH = 0.08
# What the kind's own name in the file's name adds: enough to settle what is within reach.
NAMED = 0.3
# What the cells can add to a score.
CONTENT = 0.2
SAMPLE_ROWS = 200
# Of headings that are not known, as many letters and as many are shown.
LONGEST_SHOWN = 60
MOST_SHOWN = 20
DATE = r"^\s*\d{1,4}[-./ ][\p{L}\d]{1,9}[-./ ]\d{1,4}"


def match_headings(kind: Kind, headings: tuple[str, ...]) -> dict[str, int]:
    """Return for each column of the kind the position of its heading; the first one wins."""
    return dict(_places(kind.name, tuple(column.name for column in kind.columns), headings))


@lru_cache(maxsize=4096)
def _places(kind: str, names: tuple[str, ...], headings: tuple[str, ...]) -> dict[str, int]:
    places: dict[str, int] = {}
    spoken = [heading_key(heading) for heading in headings]
    for column in map(kinds()[kind].column, names):
        accepted = _accepted(column)
        for position, heading in enumerate(spoken):
            if heading in accepted and position not in places.values():
                places[column.name] = position
                break
    return places


def _accepted(column: Column) -> set[str]:
    return {heading_key(heading) for heading in column.headings}


def kind_of(cells: Cells, name: str = "") -> Kind:
    """Return the kind that headings, file name and cells speak for.

    NotRead where none fits at least by half; Doubtful where two are within reach of each other.
    """
    fitting = _heading_scores(cells.headings)
    if _several(fitting, REACH + CONTENT + NAMED):
        fitting = {
            kind: score + NAMED * (heading_key(kind) in heading_key(name))
            for kind, score in fitting.items()
        }
    if _several(fitting, REACH + CONTENT):
        # Only where headings and name leave a choice do the cells have a say.
        fitting = {
            kind: score + CONTENT * _content_fit(kinds()[kind], cells)
            for kind, score in fitting.items()
        }
    if not fitting:
        if _is_a_row(cells.headings):
            raise NotRead("no-headings", cells.header_row, _shown(cells.headings))
        raise NotRead("unknown-kind", _shown(cells.headings))
    ordered = sorted(fitting, key=lambda kind: -fitting[kind])
    near = [kind for kind in ordered if fitting[kind] > fitting[ordered[0]] - REACH]
    if len(near) > 1:
        likely = tuple(near[:3])
        said = OR.join(f"--as {kind}" for kind in likely)
        raise Doubtful("kind", "doubtful-kind", OR.join(likely), said, answers=likely)
    return kinds()[ordered[0]]


def _several(scores: dict[str, float], reach: float) -> bool:
    """Tell whether another score is that near to the best one."""
    best = max(scores.values(), default=0.0)
    return sum(score > best - reach for score in scores.values()) > 1


def _shown(headings: tuple[str, ...]) -> str:
    """Return the first headings as a sentence shows them: what is very long is cut."""
    return ", ".join(shortened(heading, LONGEST_SHOWN) for heading in headings[:6])


def _is_a_row(headings: tuple[str, ...]) -> bool:
    """Tell whether what stands in the place of headings is data: most of it has digits."""
    filled = [heading for heading in headings if heading.strip()]
    return sum(re.search("[0-9]", heading) is not None for heading in filled) * 2 > len(filled)


@lru_cache(maxsize=1024)
def _heading_scores(headings: tuple[str, ...]) -> dict[str, float]:
    """Return, for each kind that fits at all, how well it explains the headings: up to 2.5."""
    found: dict[str, float] = {}
    given = len([heading for heading in headings if heading.strip()])
    for kind in kinds().values():
        places = match_headings(kind, headings)
        required = [column.name for column in kind.columns if column.required]
        lacking = sum(column not in places for column in required)
        share = 1 - lacking / len(required)
        if share >= 0.5 and len(places) * 2 >= given:
            # What a kind explains of the sheet counts most, and needed headings that lack count
            # against it: one of few columns must not win by having all of its own.
            found[kind.name] = 2 * (len(places) - lacking) / given + share / 2
    return found


def _content_fit(kind: Kind, cells: Cells) -> float:
    """Return the share of cells that look like what their column holds, 0.5 without any."""
    sample = cells.frame.head(SAMPLE_ROWS)
    good = filled = 0
    places = match_headings(kind, cells.headings)
    for column in kind.columns:
        if column.name not in places:
            continue
        text = sample[f"c{places[column.name]}"].str.strip_chars()
        text = text.filter(text.is_not_null() & (text != ""))
        filled += text.len()
        good += int(looks_like(column, text).sum())
    return good / filled if filled else 0.5


def looks_like(column: Column, text: pl.Series) -> pl.Series:
    """Tell of each text whether it looks like what the column holds; not whether it is right."""
    if column.type in NUMBERS:
        return text.str.contains(r"^\D{0,4}\d[\d.,' ]*\D{0,8}$")
    if column.type == "date":
        return text.str.contains(DATE)
    if column.type == "choice":
        known = choices(column.choices)
        return pl.Series([heading_key(cell) in known for cell in text], dtype=pl.Boolean)
    return pl.Series([True] * text.len(), dtype=pl.Boolean)


def refuse_twice(kind: Kind, cells: Cells) -> None:
    """Refuse a sheet where two headings name one column, unless all their cells are the same.

    The whole sheet waits: to take either would be a guess in every row, and the one remedy, naming
    the headings apart, is the same for all of them.
    """
    for name, taken, other in _twice(kind.name, cells.headings):
        if not cells.frame[f"c{taken}"].equals(cells.frame[f"c{other}"], check_names=False):
            first, second = cells.headings[taken], cells.headings[other]
            raise Doubtful(
                "heading",
                "doubtful-heading",
                *(taken + 1, first, other + 1, second, f"{kind.name}.{name}"),
                answers=(f"column {taken + 1}", f"column {other + 1}"),
            )


@lru_cache(maxsize=1024)
def _twice(kind: str, headings: tuple[str, ...]) -> tuple[tuple[str, int, int], ...]:
    """Return each heading that names a column again: the column's name, its place, the other."""
    places = match_headings(kinds()[kind], headings)
    spoken = [heading_key(heading) for heading in headings]
    return tuple(
        (column.name, places[column.name], position)
        for column in kinds()[kind].columns
        if column.name in places
        for position, heading in enumerate(spoken)
        if heading in _accepted(column) and position not in places.values()
    )


def notes_on_kind(kind: Kind, cells: Cells) -> tuple[Note, ...]:
    """Return what is noticed once the kind is known: headings not known, several languages."""
    notes = [
        Note(code, details, cells.header_row)
        for code, details in _unknown(kind.name, own_headings(cells))
    ]
    mixed = languages_mixed(cells.headings, heading_languages(kind.name))
    if mixed:
        notes.append(Note("languages-mixed", (", ".join(mixed),), cells.header_row))
    return tuple(notes)


@lru_cache(maxsize=1024)
def near_heading(kind: str, headings: tuple[str, ...], name: str) -> str:
    """Return the unknown heading of a sheet that is nearest to a column it lacks; "" for none."""
    known = set(heading_languages(kind))
    unknown = {heading_key(heading): heading for heading in headings if heading.strip()}
    keys = [key for key in unknown if key not in known]
    spellings = [heading_key(spelling) for spelling in kinds()[kind].column(name).headings]
    alike = [
        (found[1], found[0])
        for spelling in spellings
        if (found := process.extractOne(spelling, keys, scorer=fuzz.ratio, score_cutoff=ALIKE))
    ]
    return unknown[max(alike)[1]].strip()[:LONGEST_SHOWN] if alike else ""


@lru_cache(maxsize=1024)
def _unknown(kind: str, headings: tuple[str, ...]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Return a note for each heading that is none of the kind's, with the nearest that lacks.

    Those near none share one note. Each is its code and what fills its sentence.
    """
    columns = kinds()[kind].columns
    places = match_headings(kinds()[kind], headings)
    known = set(heading_languages(kind))
    lacking = {
        heading_key(spelling): spelling
        for column in columns
        if column.name not in places
        for spelling in column.headings
    }
    found: list[tuple[str, tuple[str, ...]]] = []
    others: list[str] = []
    for heading in headings:
        key, shown = heading_key(heading), heading.strip()[:LONGEST_SHOWN]
        if not heading.strip() or key in known:
            continue
        near = process.extractOne(key, lacking.keys(), scorer=fuzz.ratio, score_cutoff=ALIKE)
        if near is None:
            others.append(shown)
            continue
        found.append(("unknown-heading", (shown, lacking[near[0]])))
    if others:
        shown = ", ".join(f'"{one}"' for one in others[:MOST_SHOWN])
        found.append(("unknown-headings", (shown + (", …" if others[MOST_SHOWN:] else ""),)))
    return tuple(found)
