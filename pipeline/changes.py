"""What a later version of a sheet changed: rows added, changed cell by cell, and gone."""

from dataclasses import dataclass, field

import duckdb

from pipeline.book.book import Book, kept_settings
from pipeline.errors import BookError
from pipeline.intake.kinds import Kind, kinds
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, rows, season_sql


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One cell that differs: its row before and now, its heading, and the value before and now."""

    row_before: int
    row_now: int
    column: str
    before: str | None
    now: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """One version of a sheet against the rows it replaced, by its own row numbers.

    `gone`: (sheet, row) of rows that it no longer has; they count until somebody decides.
    """

    sheet: str
    version: int
    same: int
    added: list[int] = field(default_factory=list[int])
    changed: list[Cell] = field(default_factory=list[Cell])
    gone: list[tuple[str, int]] = field(default_factory=list[tuple[str, int]])


def sheet_changes(book: Book, name: str) -> list[Changes]:
    """Return what each later version of a sheet changed, for a sheet's name or part of it.

    BookError where no sheet of that name has an earlier version.
    """
    journal = book.journal()
    found: dict[int, Changes] = {}
    for season in seasons_with_sheets(journal, kept_settings(journal)):
        path = current_path(book, season)
        if path is None:
            continue
        with connect(str(path)) as con:
            versions = rows(con, season_sql("later_versions"), {"name": name})
            for sheet_no, sheet, kind, version in versions:
                found.setdefault(sheet_no, _changes(con, kinds()[kind], sheet_no, sheet, version))
    if not found:
        raise BookError(
            f"No sheet named {name!r} came in a later version. A later version speaks for the "
            "same kind, station, week and recorder as an earlier sheet."
        )
    return [found[sheet_no] for sheet_no in sorted(found)]


def _changes(
    con: duckdb.DuckDBPyConnection, kind: Kind, sheet_no: int, sheet: str, version: int
) -> Changes:
    stored = [column.stored for column in kind.columns]
    before = ", ".join(f"cast(o.{name} as varchar)" for name in stored)
    now = ", ".join(f"cast(n.{name} as varchar)" for name in stored)
    pairs = rows(
        con,
        f"select g.row_no, g.by_row_no, [{before}], [{now}] from succession g "
        f"join rows_{kind.name} o on o.sheet_no = g.sheet_no and o.row_no = g.row_no "
        f"join rows_{kind.name} n on n.sheet_no = g.by_sheet_no and n.row_no = g.by_row_no "
        "where g.kind = ? and g.by_sheet_no = ? order by g.by_row_no",
        [kind.name, sheet_no],
    )
    changed = [
        Cell(row_before=old_row, row_now=new_row, column=column.title, before=was, now=has)
        for old_row, new_row, old, new in pairs
        for column, was, has in zip(kind.columns, old, new, strict=True)
        if was != has
    ]
    added = rows(
        con,
        f"select r.row_no from rows_{kind.name} r where r.sheet_no = ? and r.row_no not in ("
        "select by_row_no from succession where kind = ? and by_sheet_no = ? "
        "and by_row_no is not null) order by 1",
        [sheet_no, kind.name, sheet_no],
    )
    gone = rows(con, season_sql("rows_gone"), {"sheet_no": sheet_no})
    return Changes(
        sheet=sheet,
        version=version,
        same=len(pairs) - len({cell.row_now for cell in changed}),
        added=[row for (row,) in added],
        changed=changed,
        gone=[(name, row) for name, row in gone],
    )
