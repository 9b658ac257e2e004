"""A season for an accountant, buyer or auditor: a workbook and a Data Package."""

from pathlib import Path

from pipeline.book.book import Book, kept_settings
from pipeline.coop import coop_facts
from pipeline.errors import DocumentError
from pipeline.issue import made_up_to
from pipeline.season.tables import connect
from pipeline.upkeep import whole_file
from reports.package import write_package
from reports.workbook import write_workbook

WORKBOOK = "season.xlsx"


def export(book: Book, season: str, folder: Path, *, personal: bool) -> list[Path]:
    """Write a season's workbook and Data Package into a new folder; return what was written.

    Without `personal`, no column with names, telephones, accounts, households or places of plots,
    and none in which anything may stand. DocumentError where the folder holds something already.
    """
    if folder.exists() and any(folder.iterdir()):
        raise DocumentError(f"{folder} is not empty. Name a new folder, so that nothing is mixed.")
    journal = book.journal()
    settings = kept_settings(journal)
    settings.season(season)
    day = made_up_to(journal, season)
    facts = coop_facts(settings, season)
    folder.mkdir(parents=True, exist_ok=True)
    with connect(str(whole_file(book, season))) as con:
        write_workbook(con, facts, folder / WORKBOOK, made_up_to=day, personal=personal)
        made = write_package(con, facts, folder, made_up_to=day.isoformat(), personal=personal)
    return [folder / WORKBOOK, *made]
