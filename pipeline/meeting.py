"""The pack for the members' assembly: who may vote, money in and out, second payment, the bank."""

from dataclasses import asdict, dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from pipeline.book.book import Book, kept_settings, write_whole
from pipeline.coop import coop_facts
from pipeline.errors import DocumentError
from pipeline.reconcile import Reconciled, reconcile
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, dicts, rows, season_sql
from pipeline.second import Preview, preview
from pipeline.settings import Settings
from reports.facts import ReportError
from reports.meeting_pack import Gathered, meeting_paper


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What the assembly is shown: the roll, money lines in minor units, what is proposed.

    `posted`: `proposed` is no proposal but what was posted.
    """

    season: str
    day: date
    roll: tuple[dict[str, Any], ...]
    money: dict[str, int]
    proposed: Preview | None
    posted: bool
    bank: Reconciled

    @property
    def voters(self) -> int:
        """How many may vote."""
        return sum(not row["why_not"] for row in self.roll)


def meeting_pack(book: Book, season: str, day: date, plan_text: str | None = None) -> Pack:
    """Gather the pack for an assembly on a day.

    `plan_text`: the second payment proposed; without one the last that was posted is shown.
    """
    settings = kept_settings(book.journal())
    settings.season(season)
    rule = settings.voting
    asked = {
        "least_shares": rule.least_shares,
        "least_kg": rule.least_kg,
        "since": day - timedelta(days=rule.days),
        "day": day,
    }
    with connect(str(must_have(book, season))) as con:
        roll = dicts(con, season_sql("voting_roll"), asked)
        money = {str(line): int(amount) for line, amount in rows(con, season_sql("money_in_out"))}
    plan = plan_text or _posted_plan(book, season)
    return Pack(
        season=season,
        day=day,
        roll=tuple(roll),
        money=money,
        proposed=preview(book, season, plan, posted=True) if plan else None,
        posted=plan_text is None,
        bank=reconcile(book, season),
    )


def write_pack(book: Book, pack: Pack, path: Path) -> None:
    """Draw the pack as a PDF; DocumentError where it cannot be drawn."""
    settings = kept_settings(book.journal())
    try:
        content = meeting_paper(
            coop_facts(settings, pack.season), pack.day, gathered(pack, settings)
        )
    except ReportError as error:
        raise DocumentError(str(error)) from None
    write_whole(path, content)


def gathered(pack: Pack, settings: Settings) -> Gathered:
    """Return the pack in plain rows, as it is drawn."""
    second = None
    if pack.proposed is not None:
        pools = [asdict(pool) for pool in pack.proposed.pools]
        no = pack.proposed.resolution_no
        second = {"resolution_no": no, "posted": pack.posted, "pools": pools}
    return Gathered(
        rule=asdict(settings.voting),
        roll=pack.roll,
        money=pack.money,
        second=second,
        bank=pack.bank.sums,
        bank_open=len(pack.bank.open),
    )


def _posted_plan(book: Book, season: str) -> str | None:
    """Return the plan of the season's last second payment that was posted, or None."""
    plans = [
        line.body["plan"]
        for line in book.journal().lines
        if line.what == "posted" and line.body.get("season") == season and line.body.get("plan")
    ]
    return plans[-1] if plans else None
