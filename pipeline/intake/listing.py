"""The kinds of sheet as people and programs read them: `weighbook kinds` and kinds/README.md."""

from typing import Any

from pipeline.intake.kinds import LANGUAGES, Column, Kind, kinds

LATER = {
    "replaces": "takes the place of the rows of the earlier sheet of the same {slot}",
    "adds": "adds its rows; a row that names the same thing takes the earlier one's place",
}


def kind_dict(kind: Kind) -> dict[str, Any]:
    """Return a kind and its columns, with the headings and words accepted in every language."""
    return {
        "name": kind.name,
        "title": kind.title,
        "titles": dict(kind.titles),
        "about": kind.about,
        "abouts": dict(kind.abouts),
        "recorded_by": kind.recorded_by,
        "key": list(kind.key),
        "slot": list(kind.slot),
        "later_sheet": kind.later_sheet,
        "columns": [_column_dict(column) for column in kind.columns],
    }


def _column_dict(column: Column) -> dict[str, Any]:
    return {
        "name": column.name,
        "title": column.title,
        "type": column.type,
        "unit": column.unit,
        "required": column.required,
        "personal": column.personal,
        "least": column.least,
        "above": column.above,
        "most": column.most,
        "not_above": column.not_above,
        "past": column.past,
        "about": column.about,
        "example": column.example,
        "choices": list(column.words()),
        "words": {lang: list(column.words(lang).values()) for lang in LANGUAGES}
        if column.choices
        else {},
        "headings": {lang: list(column.spellings[lang]) for lang in LANGUAGES},
    }


def kinds_markdown() -> str:
    """Return the document of every kind and column, as `kinds/README.md` holds it."""
    lines = [
        "# Kinds of sheet",
        "",
        "Made from the declarations beside it by `weighbook kinds --markdown`; a test keeps it",
        "current. Headings are compared without case, accents, punctuation and the unit at their",
        "end; any language may be used in any sheet. `weighbook template KIND` gives a blank one.",
        "",
        "Nothing about anybody's health, and nothing about children, has a column here. Columns",
        "marked *personal* are kept only for statements and payment. The Swahili spellings are",
        "plain words and want a native reader.",
        "",
        *(f"- [{kind.title}](#{_anchor(kind)}): `{kind.name}`" for kind in kinds().values()),
        "",
    ]
    for kind in kinds().values():
        lines += _kind_lines(kind)
    return "\n".join(lines)


def _anchor(kind: Kind) -> str:
    kept = "".join(c for c in kind.title.lower() if c.isalnum() or c in " -")
    return kept.replace(" ", "-")


def _kind_lines(kind: Kind) -> list[str]:
    names = ", ".join(kind.titles[language] for language in LANGUAGES[1:])
    key = ", ".join(kind.key) or "its full content"
    if kind.key_also:
        key += f", and where given {', '.join(kind.key_also)}"
    later = LATER[kind.later_sheet].format(slot=", ".join(kind.slot))
    lines = [
        f"## {kind.title}",
        "",
        f"`{kind.name}` ({names}). {kind.about} Written by: {kind.recorded_by}.",
        f"A row is named by {key}. A later sheet {later}.",
        "",
        "| Column | Type | Unit | May be empty | Example | What it is | Headings |",
        "|---|---|---|---|---|---|---|",
    ]
    for column in kind.columns:
        kept = f"{column.type}, personal" if column.personal else column.type
        about = column.about
        if column.choices:
            about += f" Words: {', '.join(column.words().values())}."
        about += _bounds(kind, column)
        cells = (
            f"`{column.name}`",
            kept,
            column.unit_in(),
            "no" if column.required else "yes",
            column.example,
            about,
            "; ".join(", ".join(column.spellings[language]) for language in LANGUAGES),
        )
        lines.append(f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |")
    return [*lines, ""]


def _bounds(kind: Kind, column: Column) -> str:
    """Return as sentences what a column can hold at all: " 0 to 100.", " More than 0."."""
    said: list[str] = []
    if column.least and column.most:
        said.append(f"{column.least} to {column.most}")
    elif column.least or column.above:
        said.append(f"{column.least} or more" if column.least else f"More than {column.above}")
    if column.not_above:
        never = "Never later than" if column.type == "date" else "Never more than"
        said.append(f'{never} "{kind.column(column.not_above).title}"')
    return "".join(f" {sentence}." for sentence in said)
