"""The manager's summary of a week: what came in, what waits and for how much, what is overdue."""

from datetime import date, timedelta
from functools import cache
from importlib import resources
from typing import Any

from pipeline.awaited import awaited
from pipeline.book.book import Book, kept_settings, write_whole
from pipeline.season.generations import current_path
from pipeline.season.kept_sheets import seasons_with_sheets
from pipeline.season.schema import STATES
from pipeline.season.tables import connect, dicts
from pipeline.service.chores import Outcome, instant
from pipeline.service.config import ServiceSettings
from pipeline.service.notes import folder, read_lines, read_note
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date
from reports.figures import Figures

MOST_RULES = 10


@cache
def service_sql(name: str) -> str:
    """Return the text of one named query of this package."""
    return resources.files("pipeline.service").joinpath(f"sql/{name}.sql").read_text("utf-8")


def weekly(book: Book, service: ServiceSettings, at: str) -> Outcome:
    """Write the summary of the seven days before today into `service/summaries/`."""
    today = service.local(instant(at)).date()
    first, last = today - timedelta(days=7), today - timedelta(days=1)
    journal = book.journal()
    settings = kept_settings(journal)
    bring_up_to_date(book, journal, settings)
    lines = [f"# {settings.name}: the week of {first} to {last}", ""]
    for season in seasons_with_sheets(journal, settings):
        path = current_path(book, season)
        if path is not None and _concerns(settings, season, first):
            with connect(str(path)) as con:
                week = {"first_day": first, "last_day": last}
                came = dicts(con, service_sql("week_rows"), week)[0]
                waits = dicts(con, service_sql("open_flags"))
                coffee = dicts(con, service_sql("coffee_between"), week)
            lines += [f"## Season {season}", "", *_came(came), *_coffee(coffee, settings)]
            lines += [*_waits(waits, settings)]
    lines += _awaited(book, today)
    lines += _nights(book, f"{first}T00:00:00Z")
    text = "\n".join(lines) + "\n"
    target = folder(book) / "summaries" / f"week-{first:%G-W%V}.md"
    target.parent.mkdir(exist_ok=True)
    write_whole(target, text.encode())
    return Outcome(says=f"The week of {first} to {last}.", page=text, files=(str(target),))


def _concerns(settings: Settings, season: str, first: date) -> bool:
    """Tell whether a season is open or ended within the last quarter."""
    return settings.season(season).last_day >= first - timedelta(days=92)


def _came(came: dict[str, int]) -> list[str]:
    states = ", ".join(f"{came[state]:,} {state.replace('_', ' ')}" for state in STATES)
    return [f"{came['sheets']} sheets came in with {came['arrived']:,} rows: {states}.", ""]


def coffee_table(coffee: list[dict[str, Any]], settings: Settings) -> list[str]:
    """Return coffee by station and form as the lines of a Markdown table."""
    say = Figures("en", settings.currency, settings.decimals)
    head = "| Station | Coffee | Deliveries | Members | Net kg | Green kg | Value |"
    return [
        head,
        "|---|---|--:|--:|--:|--:|--:|",
        *(
            f"| {row['station']} | {row['species']}, {row['form'].replace('_', ' ')} "
            f"| {say.count(row['deliveries'])} | {say.count(row['members'])} "
            f"| {say.kg(row['net_kg'])} | {say.gbe(row['gbe_kg'])} "
            f"| {say.cash(row['value_minor'])} |"
            for row in coffee
        ),
        "",
    ]


def _coffee(coffee: list[dict[str, Any]], settings: Settings) -> list[str]:
    return coffee_table(coffee, settings) if coffee else ["No coffee was weighed.", ""]


def _waits(waits: list[dict[str, Any]], settings: Settings) -> list[str]:
    if not waits:
        return ["No flag waits for a decision.", ""]
    say = Figures("en", settings.currency, settings.decimals)
    flags, stake = (sum(int(row[what]) for row in waits) for what in ("flags", "minor_at_stake"))
    lines = [f"{say.count(flags)} flags wait, {say.cash(stake)} at stake:", ""]
    lines += [
        f"- {row['rule']}: {say.count(row['flags'])}, {say.cash(row['minor_at_stake'])}"
        for row in waits[:MOST_RULES]
    ]
    return [*lines, ""]


def _awaited(book: Book, today: date) -> list[str]:
    late = [one for one in awaited(book) if one.overdue(today)]
    if not late:
        return []
    lines = [f"- {one.station}, due {one.due}: {one.question}" for one in late]
    return ["## Answers that are overdue", "", *lines, ""]


def _nights(book: Book, since: str) -> list[str]:
    nights = [line for line in read_lines(book, "verify") if line["at"] >= since]
    bad = [line for line in nights if not line["ok"]]
    says = f"The book was proven on {len(nights)} nights; a promise was broken on {len(bad)}."
    backups = read_note(book, "backups")
    told = [f"- Backup to {place}: {one.get('at', 'none yet')}" for place, one in backups.items()]
    return ["## The service", "", says, "", *(told or ["- No backup is declared."])]
