"""The book that the desk is measured on: a drawn season with doubtful rows, people and codes."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.bench.season import AT, take_season, write_season
from pipeline.book.book import Book
from pipeline.desk.accounts import Accounts
from pipeline.errors import GateError
from pipeline.issue import issue
from pipeline.people import declare_person
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows

SEASON = "2026"
PASSWORD = "four words apart"
PEOPLE = {
    "manager": "Mira Tolm",
    "clerk": "Lio Tessan",
    "treasurer": "Sefu Aldane",
    "trainer": "Tam Orr",
    "auditor": "Ada Brun",
}
# Members whose statement is issued, so that a phone can open it.
WITH_STATEMENT = 20
# Rows of the last week that stay out of the book, to be sent while it is looked at.
UPLOAD_ROWS = 5_000
# A net weight is written so much too low, on deliveries that are well above it.
SLIP_KG, LEAST_KG = 1.0, 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DeskBook:
    """A book to measure on: the codes that open the statements, by member number.

    `upload`: sheets of its last week that it does not hold yet.
    """

    book: Book
    upload: tuple[Path, ...]
    members: int
    weighings: int
    open_flags: int
    codes: dict[str, str]


def make_desk_book(folder: Path, *, members: int, deliveries: int, flags: int) -> DeskBook:
    """Draw a season of so many members and deliveries with so many doubtful rows, and take it."""
    drawn = folder / "drawn"
    write_season(drawn, members, deliveries)
    weighed = sorted((drawn / "season").glob("*/weighings_*.csv"))
    _plant(weighed, flags)
    _hold_back(weighed, folder / "upload")
    return open_desk_book(take_season(drawn, folder / "book"), folder / "upload")


def _hold_back(paths: Sequence[Path], folder: Path) -> None:
    """Keep sheets of the last week out of the season, up to the rows of an upload."""
    folder.mkdir()
    left = UPLOAD_ROWS
    for path in [one for one in paths if one.parent == paths[-1].parent]:
        if left > 0:
            sheet = pl.read_csv(path, infer_schema=False).head(left)
            sheet.write_csv(folder / path.name)
            left -= sheet.height
            path.unlink()


def open_desk_book(book: Book, upload: Path) -> DeskBook:
    """Declare people, make accounts and codes, and issue some statements of a taken book."""
    with connect(str(must_have(book, SEASON))) as con:
        (members,) = rows(con, "select count(*) from member_season")[0]
        (weighings,) = rows(con, "select count(*) from rows_weighings")[0]
        (open_flags,) = rows(con, "select count(*) from flags where decision is null")[0]
        some = rows(
            con,
            "select member_no from member_season where deliveries > 0 order by hash(member_no) "
            "limit ?",
            [WITH_STATEMENT],
        )
    accounts = Accounts(book)
    for role, name in PEOPLE.items():
        declare_person(book, name, roles=[role], at=AT)
        accounts.set_password(name, PASSWORD)
    try:
        issue(book, SEASON, by=PEOPLE["manager"], members=[no for (no,) in some], at=AT)
        codes = {no: accounts.member_code(no, by="bench", at=AT) for (no,) in some}
    except GateError:
        # Without statements the members' pages are not measured, which the figures say.
        codes = {}
    accounts.close()
    return DeskBook(
        book=book,
        upload=tuple(sorted(upload.glob("*.csv"))),
        members=members,
        weighings=weighings,
        open_flags=open_flags,
        codes=codes,
    )


def _plant(paths: Sequence[Path], flags: int) -> None:
    """Write net weights too low in so many rows, spread evenly over the sheets."""
    sheets = [pl.read_csv(path, infer_schema=False) for path in paths]
    heavy = [sheet["Net kg"].cast(pl.Float64) > LEAST_KG for sheet in sheets]
    step = max(1, sum(int(one.sum()) for one in heavy) // max(1, flags))
    seen = 0
    for path, sheet, fit in zip(paths, sheets, heavy, strict=True):
        place = fit.cast(pl.Int64).cum_sum() + seen
        seen += int(fit.sum())
        slipped = fit & (place % step == 0) & (place <= step * flags)
        low = (sheet["Net kg"].cast(pl.Float64) - SLIP_KG).round(1).cast(pl.String)
        sheet.with_columns(
            pl.when(slipped).then(low).otherwise(pl.col("Net kg")).alias("Net kg")
        ).write_csv(path)
