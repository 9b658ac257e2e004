"""Explains one figure of a book by its code, from the season file that holds it."""

from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.errors import DamageError
from pipeline.explain.explained import code_parts, explain_in, explain_sql, named
from pipeline.explain.figures import find
from pipeline.intake.found import Cells, NotRead
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from pipeline.season.whole import reads_later


def explain_figure(book: Book, code: str, language: str = "en") -> dict[str, Any]:
    """Return where a figure comes from, for a code such as `2026/10427/balance`.

    The dict has figure, title, value, unit, formula, parts, rows (sheet, row, column, cell as it
    was written, amount, says, decisions, and these as sentences) and prices; `plain` is the value
    with a point before its decimals in any language. FigureError where there is no such figure.
    """
    settings = kept_settings(book.journal())
    season, who, name = code_parts(code)
    settings.season(season)
    path = must_have(book, season)
    if _may_wait(who, name):
        from pipeline.upkeep import whole_file

        path = whole_file(book, season)

    def read(sha256: str, part: str) -> Cells | None:
        from pipeline.intake.read import read_cells

        try:
            return read_cells(book.sheet(sha256), part, settings.intake.lifted())
        except (NotRead, DamageError):
            return None

    with connect(str(path), macros=True) as con:
        return explain_in(con, settings, read, code, language=language)


def _may_wait(who: str, name: str) -> bool:
    """Tell whether what a figure is told from may be of an earlier line than states and money."""
    found = find(name, group=who == "group")
    if found is None:
        # A figure that compares groups.
        return who == "group"
    texts = [named(part, who).value for _, part in found[0].parts]
    queries = [f"value_{value.partition('.')[0]}" for value in (found[0].value, *texts)]
    return any(reads_later(explain_sql(query)) for query in [*queries, found[0].query] if query)
