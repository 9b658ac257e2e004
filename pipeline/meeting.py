"""The pack for the members' assembly: who may vote, money in and out, second payment, the bank."""

from dataclasses import dataclass
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
from reports.facts import ReportError, Row
from reports.figures import Figures
from reports.papers import grid, paper, section

LINES = {
    "sales": "Coffee sold, as invoiced",
    "sales_not_paid_yet": "of it, buyers have not paid yet",
    "coffee": "Coffee bought from members, first payment",
    "premiums": "Premiums less discounts",
    "second_payment": "Second payments posted",
    "deductions": "Levies and charges held back",
    "paid_to_members": "Paid out to members",
    "owed_to_members": "Still owed to members",
    "overpaid_to_members": "Overpaid, to be settled by members",
    "loans_owed": "Loans and inputs that members owe",
    "shares_paid_up": "Shares paid up, kept apart",
    "unclaimed": "Unclaimed money, kept apart",
    "bank_in": "Money in, by bank, mobile-money and cash-book lines",
    "bank_out": "Money out, by the same lines",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What the assembly is shown: the roll, money lines in minor units, what is proposed."""

    season: str
    day: date
    roll: tuple[dict[str, Any], ...]
    money: dict[str, int]
    proposed: Preview | None
    bank: Reconciled

    @property
    def voters(self) -> int:
        """How many may vote."""
        return sum(not row["why_not"] for row in self.roll)


def meeting_pack(book: Book, season: str, day: date, plan_text: str | None = None) -> Pack:
    """Gather the pack for an assembly on a day; `plan_text`: the second payment proposed."""
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
    return Pack(
        season=season,
        day=day,
        roll=tuple(roll),
        money=money,
        proposed=preview(book, season, plan_text, posted=True) if plan_text else None,
        bank=reconcile(book, season),
    )


def write_pack(book: Book, pack: Pack, path: Path) -> None:
    """Draw the pack as a PDF; DocumentError where it cannot be drawn."""
    settings = kept_settings(book.journal())
    facts = coop_facts(settings, pack.season)
    figures = Figures("en", facts.currency, facts.decimals)
    parts = [_roll(pack, settings, figures), _money(pack, figures)]
    if pack.proposed:
        parts += _proposed(pack.proposed, figures)
    parts.append(_bank(pack, figures))
    try:
        content = paper(facts, "Pack for the assembly", pack.day, parts)
    except ReportError as error:
        raise DocumentError(str(error)) from None
    write_whole(path, content)


def _roll(pack: Pack, settings: Settings, f: Figures) -> Row:
    rule = settings.voting
    says = [
        f"{f.count(pack.voters)} of {f.count(len(pack.roll))} members may vote: at least "
        f"{rule.least_shares} shares paid up, {rule.least_kg} kg green bean equivalent delivered, "
        f"a member for {rule.days} days. {rule.authority}".strip()
    ]
    lines = [
        [row["member_no"], row["name"], row["village"], row["why_not"] or "", ""]
        for row in pack.roll
    ]
    heads = ["Member", "Name", "Village", "May not vote, since", "Signature"]
    return section("Who may vote", says, grid(heads, lines, text=4))


def _money(pack: Pack, f: Figures) -> Row:
    lines = [[LINES[line], f.money(amount)] for line, amount in pack.money.items()]
    return section("Money in and out", (), grid(["", "Amount"], lines, text=1))


def _proposed(shown: Preview, f: Figures) -> list[Row]:
    parts: list[Row] = []
    for pool in shown.pools:
        lines = [
            ["Proceeds of the coffee sold", f.money(pool.proceeds_minor)],
            ["Last season's stock sold now", f.money(pool.last_stock_minor)],
            *[[f"Cost: {name}", f.money(-amount)] for name, amount in pool.costs],
            ["Finance interest", f.money(-pool.interest_minor)],
            ["Premiums voted apart", f.money(-pool.apart_minor)],
            ["First payment for this coffee", f.money(-pool.first_payment_minor)],
            ["Left to share", f.money(pool.available_minor)],
            [f"Second payment: {pool.how}", f.money(-pool.shared_minor)],
            ["To reserve", f.money(pool.reserve_minor)],
        ]
        says = [
            f"Shared by {pool.kg} kg of eligible members; {pool.excluded_kg} kg of others have no "
            f"share. Unsold stock: {pool.unsold_kg} kg, not counted as proceeds."
        ]
        title = f"Second payment proposed, pool {pool.code}, resolution {shown.resolution_no}"
        parts.append(section(title, says, grid(["", "Amount"], lines)))
    return parts


def _bank(pack: Pack, f: Figures) -> Row:
    lines = [
        [row["method"], row["why"], f.count(row["count"]), f.money(row["paid_minor"]),
         f.money(row["line_minor"])]
        for row in pack.bank.sums
    ]  # fmt: skip
    says = [f"{f.count(len(pack.bank.open))} payments or lines have no counterpart yet."]
    heads = ["Account", "How they agree", "Number", "Payments", "Lines"]
    return section("Payments beside the bank", says, grid(heads, lines, text=2))
