"""Why a cell was not read, and how a sheet as a whole was read: codes, and the sentences to
them.
"""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from pipeline.intake.kinds import Column, Kind, choice_words
from pipeline.intake.words import said_detail, word_table

# Between a reason's code and what was found out about the very cell: "number-in-words|12".
BETWEEN = "|"


def reason(code: str, *details: str) -> str:
    """Return a reason as it is stored: its code, then the details that fill its sentences."""
    return BETWEEN.join([code, *(detail.replace(BETWEEN, "/") for detail in details)])


def code_of(stored: str) -> str:
    """Return the code of a stored reason: "number-in-words|12" has "number-in-words"."""
    return stored.partition(BETWEEN)[0]


class Reasons(Mapping[str, tuple[str, str]]):
    """The sentences of each reason, (what is wrong, what to do), by its code or as it is stored.

    `language`: en, fr, es, pt or sw; KeyError for a reason that is not there in it.
    """

    def __init__(self, language: str = "en") -> None:
        self.table = "reasons" if language == "en" else f"reasons.{language}"

    def __getitem__(self, stored: str) -> tuple[str, str]:
        """Return both sentences with the details of the stored reason filled in."""
        code, *details = stored.split(BETWEEN)
        entry = word_table(self.table)[code]
        return _fill(entry["what"], details), _fill(entry["remedy"], details)

    def __iter__(self) -> Iterator[str]:
        return iter(word_table(self.table))

    def __len__(self) -> int:
        return len(word_table(self.table))


def detailed(stored: str, kind: Kind, column: Column | None, language: str) -> str:
    """Return a stored reason with the words among its details in a language.

    A detail out of a cell stays as it is: only what the reader itself put there is translated.
    """
    code, *details = stored.split(BETWEEN)
    if language == "en" or not details:
        return stored
    if code == "near-choice" and column is not None:
        words = column.words(language)
        offered = details[0].split(" / ")
        details[0] = " / ".join(words.get(word.replace(" ", "_"), word) for word in offered)
    elif code == "measure-not-declared":
        forms = choice_words("form", language)
        parts = details[1].split(", ")
        details[1] = ", ".join(forms.get(part.replace(" ", "_"), part) for part in parts)
    elif code == "shifted":
        titled = next((c for c in kind.columns if c.title == details[2]), None)
        heading = titled.spellings[language][0] if titled else details[2]
        details[1:] = [said_detail(details[1], language), heading]
    elif code == "unknown-unit":
        details[2] = said_detail(details[2], language)
    return BETWEEN.join([code, *details])


REASONS = Reasons()


@dataclass(frozen=True, slots=True)
class Note:
    """Something that was settled for a sheet as a whole, or could not be; `text` says it."""

    code: str
    details: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The note as a sentence."""
        return note_sentence(self.code, self.details)


def note_sentence(code: str, details: Sequence[str], language: str = "en") -> str:
    """Return a note on a sheet as a sentence; KeyError where the language lacks it.

    A detail out of the sheet stays as it is: only what the reader itself put there is translated.
    """
    table = word_table("notes" if language == "en" else f"notes.{language}")
    own = code.startswith(("decimal-by-", "dates-by-"))
    told = [said_detail(text, language) if own else text for text in details]
    return _fill(table[code], told)


def _fill(sentence: str, details: Sequence[str]) -> str:
    # In one pass and not by str.format: a detail comes out of a cell and may hold braces.
    def filled(place: re.Match[str]) -> str:
        number = int(place[1])
        return details[number] if number < len(details) else "..."

    return re.sub(r"\{([0-9])\}", filled, sentence)
