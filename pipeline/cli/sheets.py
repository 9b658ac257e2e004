"""The clerk's commands: make a book, take sheets."""

import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pipeline.cli.main import book_argument, by_option, json_option
from pipeline.errors import ROWS_SENT_BACK, SHEETS_NOT_READ

if TYPE_CHECKING:
    from pipeline.intake.speaks import Answer
    from pipeline.taken import Taken


@click.command()
@book_argument
@click.option(
    "--settings",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    help="A book.toml to start from. Without it, the invented cooperative of the examples.",
)
def new(book: Path, settings: Path | None) -> None:
    """Make an empty book in a new folder.

    \b
    Example: weighbook new ridge-book --settings book.toml
    """
    from pipeline.book.book import new_book, now
    from pipeline.samples.place import sample_inputs

    text = (settings or sample_inputs() / "book.toml").read_text("utf-8")
    new_book(book, text, now())
    click.echo(f"Made {book}. Its settings are in {book / 'book.toml'}: look through them first.")
    click.echo(f"Then: weighbook take {book} members.csv plots.csv prices.csv")


@click.command()
@book_argument
@click.argument("sheets", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--day",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The day the sheets came in. Default: today.",
)
@click.option("--as", "kind", help="What kind of sheet this is, where it was asked.")
@click.option("--station", default="", help="The station that recorded it; fills empty cells too.")
@click.option("--week", default="", help="Its week (2026-W14), or weeks (2026-W14..2026-W20).")
@click.option("--recorder", default="", help="Who recorded it; fills empty cells too.")
@click.option("--only-adds", is_flag=True, help="It only adds rows: none of before are gone.")
@click.option("--worksheet", default="", help="The one sheet of the file that is meant.")
@by_option
@json_option
def take(
    book: Path,
    sheets: tuple[Path, ...],
    day: datetime | None,
    kind: str | None,
    station: str,
    week: str,
    recorder: str,
    only_adds: bool,
    worksheet: str,
    by: str,
    as_json: bool,
) -> None:
    """Bring sheets in: each is kept, its good rows count, the rest come back with a reason.

    Ends with 20 where rows were sent back, with 21 where a sheet could not be read at all.

    A sheet that is doubtful is kept, and its question shown; send it again with the answer.

    \b
    Examples: weighbook take ridge-book week-14/*.csv
              weighbook take ridge-book sheet.xlsx --as weighings --station KES
    """
    from pipeline.book.book import open_book
    from pipeline.cli import show
    from pipeline.corrections import write_corrections
    from pipeline.take import take as take_sheets

    opened = open_book(book)
    answer = _answer(kind or "", station, week, recorder, only_adds, worksheet)
    came = day.date() if day else date.today()
    if as_json or len(sheets) < 5:
        taken = take_sheets(opened, sheets, by=by, day=came, answer=answer)
    else:
        with click.progressbar(length=len(sheets), label="Reading", file=sys.stderr) as bar:
            taken = take_sheets(opened, sheets, by=by, day=came, answer=answer, progress=bar.update)
    corrections = write_corrections(opened)
    if as_json:
        show.as_json(taken)
    else:
        show_taken(taken)
        for path in corrections:
            click.echo(f"To correct: {path}")
    if any(not sheet.kind for sheet in taken):
        raise click.exceptions.Exit(SHEETS_NOT_READ)
    if any(sheet.sent_back for sheet in taken):
        raise click.exceptions.Exit(ROWS_SENT_BACK)


def _answer(
    kind: str, station: str, week: str, recorder: str, only_adds: bool, part: str
) -> "Answer":
    """Check what was said about the sheets; a usage error names what cannot be."""
    from pipeline.intake.kinds import kinds
    from pipeline.intake.periods import is_week
    from pipeline.intake.speaks import Answer

    kind = kind.replace("-", "_").replace(" ", "_")
    if kind and kind not in kinds():
        raise click.BadParameter(
            f"no such kind. There are: {', '.join(kinds())}.", param_hint="--as"
        )
    if week and not is_week(week):
        raise click.BadParameter("write a week as 2026-W14.", param_hint="--week")
    return Answer(
        kind=kind,
        station=station.strip().upper(),
        week=week.upper(),
        recorder=recorder.strip(),
        only_adds=only_adds,
        part=part,
    )


def show_taken(taken: "list[Taken]") -> None:
    """Print one line a sheet, then what needs somebody, one sentence each."""
    from pipeline.cli import show

    columns = ("arrived", "counted", "held", "sent_back", "replaced", "left_out")
    rows = [
        (
            sheet.sheet,
            sheet.kind.replace("_", " ") or "-",
            *(str(getattr(sheet, column)) for column in columns),
            "" if sheet.status == "taken" else sheet.status,
        )
        for sheet in taken
    ]
    if len(taken) > 1:
        # A sheet taken before is not added again.
        new_ones = [sheet for sheet in taken if sheet.status != "known"]
        sums = (str(sum(getattr(sheet, column) for sheet in new_ones)) for column in columns)
        rows.append((f"{len(new_ones)} sheets", "", *sums, ""))
    headings = ("Sheet", "Kind", *(column.replace("_", " ") for column in columns), "")
    show.table(headings, rows, right="  rrrrrr ")
    for sheet in taken:
        if sheet.message:
            click.echo(f"{sheet.sheet}: {sheet.message}")
        if sheet.status != "known":
            for note in sheet.notes:
                click.echo(f"{sheet.sheet}: {note['sentence']}")
