from collections.abc import Callable, Mapping, Sequence

import polars as pl
import pytest

from pipeline.intake.cells import TypedRows
from pipeline.intake.kinds import Column, Kind, kinds
from pipeline.intake.settle import Days, Front
from pipeline.intake.type_sheets import type_sheets
from pipeline.settings import Settings, read_settings
from tests.take.small import SETTINGS

TIN = """
[[measure]]
name = "tin"
station = "KES"
form = "fresh_cherry"
kg = "18"
from = 2026-01-01
authority = "weighed at the station, ten tins"
[[measure]]
name = "tin"
station = "KES"
form = "fresh_cherry"
kg = "17.5"
from = 2026-06-01
authority = "weighed again"
"""


def text_of(
    kind: Kind, rows: Sequence[Mapping[str, str | None]], sheet_no: int = 1
) -> pl.DataFrame:
    """The text of a sheet: in each row the examples of what is needed, and what the test says."""
    examples = {column.name: column.example if column.required else None for column in kind.columns}
    names = [*examples, "beyond"]
    whole = [{**examples, "beyond": None, **row} for row in rows]
    return pl.DataFrame(
        {
            "sheet_no": pl.Series([sheet_no] * len(rows), dtype=pl.Int32),
            "row_no": pl.Series(range(2, 2 + len(rows)), dtype=pl.Int32),
            **{name: pl.Series([row[name] for row in whole], dtype=pl.String) for name in names},
        }
    )


def settings_with(more: str = "") -> Settings:
    return read_settings(SETTINGS + more)


Typing = Callable[..., TypedRows]


@pytest.fixture(name="typed", scope="session")
def typed_fixture() -> Typing:
    def typed(
        rows: Sequence[Mapping[str, str | None]],
        *,
        kind: str = "weighings",
        headings: Mapping[str, str] | None = None,
        days: Days | None = None,
        book: str = "",
    ) -> TypedRows:
        of = kinds()[kind]
        own = {column.name: column.title for column in of.columns} | dict(headings or {})
        fronts = {1: Front(own, days)}
        return type_sheets(of, text_of(of, rows), fronts, settings_with(book))

    return typed


def reasons(typed: TypedRows) -> list[tuple[int, str, str]]:
    """Row, column and stored reason of each cell not read, in that order."""
    return sorted(typed.unreadable.select("row_no", "col", "reason").rows())


def notes(typed: TypedRows) -> list[str]:
    return [note.code for form in typed.forms.values() for note in form.notes]


def column_of(said: str) -> Column:
    """Return a column of a type, and of a unit where one is said: "kg", "quantity cm"."""
    column_type, _, unit = said.partition(" ")
    return next(
        column
        for kind in kinds().values()
        for column in kind.columns
        if column.type == column_type and unit in ("", column.unit)
    )
