"""Runs one case: its sheets go through `take` as a clerk's do, and what came of them is told."""

import shutil
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.book.book import Book, new_book
from pipeline.changes import sheet_changes
from pipeline.errors import BookError
from pipeline.intake.speaks import Answer
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.season.generations import must_have
from pipeline.season.tables import connect
from pipeline.take import take
from pipeline.taken import STATES, Taken

CASES = Path(__file__).parent
AT = "2026-10-05T12:00:00Z"
DAY = date(2026, 10, 5)
REGISTERS = ("members.csv", "plots.csv", "prices.csv")
# What a case's folder holds beside its sheets.
BESIDE = ("settings.toml", "args.toml", "expected.txt")
LONGEST = 60


def cases() -> list[Path]:
    """Return the folders of all cases, by number."""
    return sorted(folder for folder in CASES.iterdir() if folder.name[:4].isdigit())


def sheets_of(folder: Path) -> list[Path]:
    """Return the sheets of a folder in the order in which they are sent."""
    return sorted(path for path in folder.iterdir() if path.is_file() and path.name not in BESIDE)


def settings_of(folder: Path) -> str:
    """Return the text of a case's book.toml: the shared one, with what the case adds to it."""
    shared = (CASES / "book.toml").read_text("utf-8")
    own = folder / "settings.toml"
    if not own.is_file():
        return shared
    text = own.read_text("utf-8")
    return text if "[cooperative]" in text else f"{shared}\n{text}"


def book_with_registers(path: Path, settings: str) -> Book:
    """Make a book that holds the shared members, plots and prices."""
    book = new_book(path, settings, AT)
    done = take(
        book, [CASES / "registers" / name for name in REGISTERS], by="clerk", day=DAY, at=AT
    )
    assert all(one.counted == one.arrived > 0 for one in done), done
    return book


def run(folder: Path, empty: Callable[[str], Book]) -> tuple[str, list[Taken]]:
    """Take a case's sheets; return what is told of them, and what `take` returned."""
    book = empty(settings_of(folder))
    given: dict[str, Any] = {}
    if (folder / "args.toml").is_file():
        given = tomllib.loads((folder / "args.toml").read_text("utf-8"))
    ask_first = given.pop("ask_first", False)
    answer = replace(Answer(), **{{"as": "kind"}.get(name, name): v for name, v in given.items()})
    told: list[str] = []
    done: list[Taken] = []

    def send(paths: list[Path], said: Answer) -> None:
        for path in paths:
            taken = take(book, [path], by="clerk", day=DAY, at=AT, answer=said)
            done.extend(taken)
            for one in taken:
                told.extend(told_of(one))

    if (folder / "earlier").is_dir():
        send(sheets_of(folder / "earlier"), Answer())
    if ask_first:
        send(sheets_of(folder), Answer())
    send(sheets_of(folder), answer)
    told.extend(rows_and_flags(book))
    return "\n".join([*told, ""]), done


def told_of(one: Taken) -> Iterator[str]:
    """Tell what became of one sheet, as `weighbook take` does."""
    kind = one.kind or "kind not known"
    yield f"{one.sheet}: {one.status}, {kind}, version {one.version}"
    counts = ", ".join(f"{getattr(one, state)} {state.replace('_', ' ')}" for state in STATES)
    yield f"  {one.arrived} arrived: {counts}"
    if one.message:
        yield f"  message: {shown(one.message, 2000)}"
    if one.question:
        yield f"  question: {one.question}; answers: {', '.join(one.answers)}"
    for note in one.notes:
        yield f"  note {note['code']}, row {note['row_no']}: {shown(note['sentence'], 2000)}"


def rows_and_flags(book: Book) -> Iterator[str]:
    """Tell of each sheet that is no register: its rows as stored, and its flags."""
    flags = [flag for _, flag in season_flags(book)]
    with connect(str(must_have(book, "2026"))) as con:
        sheets = con.sql("from sheets order by sheet_no").pl().rows(named=True)
        for sheet in sheets[len(REGISTERS) :]:
            yield ""
            yield f"[{sheet['name']}]"
            if not sheet["kind"]:
                yield "no rows were read"
                continue
            yield ", ".join(
                f"{what} {sheet[what] or '-'}" for what in ("kind", "station", "week", "recorder")
            ) + (", only adds" if sheet["only_adds"] else "")
            number = sheet["sheet_no"]
            unread: dict[tuple[int, str], str] = {
                (row_no, col): value
                for row_no, col, value in con.sql(
                    "select row_no, col, value from unreadable where sheet_no = ? order by all",
                    params=[number],
                ).fetchall()
            }
            rows = con.sql(
                f"from {sheet['kind']} where sheet_no = ? order by row_no", params=[number]
            )
            for row in rows.pl().iter_rows(named=True):
                yield _row(row, unread)
            places = [flag for flag in flags if flag.sheet_no == number]
            for flag in sorted(places, key=lambda flag: (flag.row, flag.col, flag.rule)):
                yield from _flag(flag)
            yield from _changes(book, sheet["name"], sheet["version"])


def _row(row: dict[str, Any], unread: dict[tuple[int, str], str]) -> str:
    left = {
        name: value for name, value in row.items() if name not in ("sheet_no", "row_no", "state")
    }
    cells = [f"{name}={shown(str(value))}" for name, value in left.items() if value is not None]
    not_read = [
        f"{col or 'the row'}?{'(empty)' if value is None else shown(value)}"
        for (row_no, col), value in unread.items()
        if row_no == row["row_no"]
    ]
    told = f"row {row['row_no']} {row['state'].replace('_', ' ')}: {'; '.join(cells)}"
    return f"{told} | not read: {'; '.join(not_read)}" if not_read else told


def _flag(flag: Flag) -> Iterator[str]:
    value = "" if flag.value is None else f', value "{shown(flag.value)}"'
    at = f', column "{flag.heading}"{value}' if flag.heading else ""
    near = f" Near: {', '.join(flag.near)}." if flag.near else ""
    yield f"flag {flag.rule} ({flag.severity}), row {flag.row}{at}: {shown(flag.say, 500)}{near}"
    yield f"  do: {shown(flag.do, 500)}"


def _changes(book: Book, name: str, version: int) -> Iterator[str]:
    if version == 1:
        return
    try:
        (changes,) = (c for c in sheet_changes(book, name) if c.sheet == name)
    except BookError:
        return
    yield f"changes: {changes.same} same, added rows {changes.added}"
    for cell in changes.changed:
        rows = f"row {cell.row_before} -> {cell.row_now}"
        yield f"  {rows}, {cell.column}: {cell.before} -> {cell.now}"
    for sheet, row in changes.gone:
        yield f"  gone: {sheet}, row {row}"


def shown(text: str, longest: int = LONGEST) -> str:
    """Return text on one line, with what cannot be seen made visible and its middle left out."""
    seen = "".join(
        letter if letter == " " or letter.isprintable() else f"<U+{ord(letter):04X}>"
        for letter in text
    )
    return seen if len(seen) <= longest else f"{seen[: longest - 20]}…({len(text)} letters)"


def copied(book: Book, path: Path) -> Book:
    """Return a copy of a book."""
    return Book(shutil.copytree(book.path, path))
