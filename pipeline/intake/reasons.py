"""Why a cell was not read: codes, and the sentences to them."""

from collections.abc import Iterator, Mapping

from pipeline.intake.kinds import Column, Kind, choice_words
from pipeline.intake.told import fill
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
        return fill(entry["what"], details), fill(entry["remedy"], details)

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
