"""Reports that the service writes: the month's figures, and the group report of a season so far.

They are read by the office and pay nothing: what members get is issued, behind gate and approval.
"""

import os
import shutil
from dataclasses import asdict
from datetime import date, timedelta
from pathlib import Path
from typing import Any, cast

from checks.rules import BY_CODE
from pipeline.book.book import Book, kept_settings, write_whole
from pipeline.book.journal import Journal
from pipeline.coop import coop_facts
from pipeline.issue import made_up_to
from pipeline.season.flags import explain_row
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.tables import connect, dicts
from pipeline.service.chores import Outcome, instant
from pipeline.service.config import ServiceSettings
from pipeline.service.notes import folder
from pipeline.service.summary import coffee_table, service_sql
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date
from reports.figures import Figures
from reports.issue import Wanted, issue_documents


def monthly(book: Book, service: ServiceSettings, at: str) -> Outcome:
    """Write last month's figures, and the group report to date of each season it touches."""
    today = service.local(instant(at)).date()
    last = today.replace(day=1) - timedelta(days=1)
    first = last.replace(day=1)
    journal = book.journal()
    settings = kept_settings(journal)
    bring_up_to_date(book, journal, settings)
    target = folder(book) / "reports" / f"{first:%Y-%m}"
    target.mkdir(parents=True, exist_ok=True)
    lines = [f"# {settings.name}: {first:%Y-%m}", ""]
    files: list[str] = []
    for season in seasons_with_sheets(journal, settings):
        days = settings.season(season)
        path = current_path(book, season)
        if path is None or days.last_day < first or days.first_day > last:
            continue
        lines += [f"## Season {season}", "", *_month(path, settings, first, last)]
        files += group_report(book, journal, settings, season, target / season)
    text = "\n".join(lines) + "\n"
    write_whole(target / "month.md", text.encode())
    return Outcome(
        says=f"The month {first:%Y-%m}.", page=text, files=(str(target / "month.md"), *files)
    )


def _month(path: Path, settings: Settings, first: date, last: date) -> list[str]:
    say = Figures("en", settings.currency, settings.decimals)
    with connect(str(path)) as con:
        month = {"first_day": first, "last_day": last}
        coffee = dicts(con, service_sql("coffee_between"), month)
        money = dicts(con, service_sql("money_between"), month)
    lines = coffee_table(coffee, settings) if coffee else ["No coffee was weighed.", ""]
    lines += [
        f"- {row['what']}: {say.count(row['movements'])} movements, {say.cash(row['amount_minor'])}"
        for row in money
    ]
    return [*lines, ""]


def _shown(check: object) -> Any:
    return {**asdict(cast(Any, check)), "detail": ""}


def group_report(
    book: Book, journal: Journal, settings: Settings, season: str, target: Path
) -> list[str]:
    """Draw a season's group report as it stands, with the checks, into a folder swapped whole."""
    from checks.gate import run_gate

    path = current_path(book, season)
    if path is None:
        return []
    work = target.with_name(f".work-{target.name}")
    shutil.rmtree(work, ignore_errors=True)
    with connect(str(path)) as con:
        made = issue_documents(
            con,
            coop_facts(settings, season),
            work,
            day=made_up_to(journal, season),
            explain=lambda row, language: explain_row(row, settings.decimals, language),
            gate=[_shown(check) for check in run_gate(con, settings.gate)],
            wanted=Wanted(members=[], whole=True, prints=False),
            rule_titles={code: rule.title for code, rule in BY_CODE.items()},
        )
    shutil.rmtree(target, ignore_errors=True)
    os.replace(work, target)
    return [str(target / name) for name in made.files if name.startswith("group/")]
