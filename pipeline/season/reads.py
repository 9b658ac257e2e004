"""What SQL reads of a season file: the tables and views whose content may change."""

import re
from collections.abc import Iterable
from functools import cache

from checks.views import view_sql
from pipeline.intake.kinds import kinds
from pipeline.season.tables import season_sql

# The tables that steps write.
DERIVED = (
    "numbers_off",
    "lot_steps",
    "green_basis",
    "matched",
    "unmatched",
    "receipts_shared",
    "valued",
    "settlements",
    "movements",
    "transfers",
    "member_account",
    "untaken",
    "coffee_moves",
    "coffee_origins",
    "coffee_aside",
    "member_coffee",
    "member_yield",
    "member_season",
    "block_yield",
    "member_cost",
    "member_margin",
    "plot_overlaps",
    "scale_days",
    "weight_weeks",
    "coffee_days",
    "moisture_days",
    "weighed_sheets",
)
# What views read, beside the kinds' own, and a table that stands for one: to make it of a large
# register took some of each query's time.
VIEWS = {
    "known_members": ("members",),
    "known_plots": ("plots",),
    "lot_times": ("live_lots",),
    "cost_rows": ("farm_record", "visits", "credit", "opening_balances"),
    "accounts_given": ("members", "accounts_agreed"),
}
# What the journal says beside sheets, and of decisions where other steps look at them: small.
JOURNALLED = ("posted", "closing", "accounts_agreed")
# Flags, decisions or states of one kind, as a query reads them beside its rows.
STATED = re.compile(
    r"(?:exceptions|decisions|flags)\b(?: as \w+)?\s+(?:where|on)\s+(?:\w+\.)?kind = '([a-z_]+)'"
)
# What stands between words of SQL: to look for words themselves takes five times as long.
_APART = {n: " " for n in range(128) if not (chr(n).islower() or chr(n) == "_")}
# Days that change with a sheet of any kind.
DAYS = ("first_taken", "last_taken")


def reads_of(*texts: str) -> set[str]:
    """Return the tables and views that SQL names, of those whose content may change.

    Settings are not among them: with other settings a season is worked out anew. What stands beside
    a kind's rows (`sheets`, `unreadable`, `converted`, `fills`, `succession`) changes with these;
    what is decided about rows (`STATED`) is read of the kind that the query names with it.
    """
    return {word for text in texts for word in _words(text)} & _known()


def sql_reads(*names: str) -> set[str]:
    """Return what named queries of this package read."""
    return reads_of(*(season_sql(name) for name in names))


def sources(names: Iterable[str]) -> set[str]:
    """Return what views read in their place, down to what sheets brought and steps wrote."""
    found: set[str] = set()
    for name in names:
        behind = _view_reads(name[6:]) if name.startswith("check_") else VIEWS.get(name)
        found |= {name} if behind is None else sources(behind)
    return found


def kind_of(source: str) -> str:
    """Return the kind of sheet whose rows a source holds, with or without their states; or ""."""
    name = source.removeprefix("live_").removeprefix("rows_")
    return name if name in kinds() else ""


@cache
def _words(text: str) -> frozenset[str]:
    text = re.sub(r"--.*", "", text)
    # A kind's name between quotes is a word of a row, and nothing that is read.
    words = re.sub(r"'[^']*'", " ", text).translate(_APART).split()
    return frozenset(words + STATED.findall(text))


@cache
def _known() -> frozenset[str]:
    own = {f"{before}{kind}" for kind in kinds() for before in ("", "rows_", "live_", "check_")}
    return frozenset({*own, *VIEWS, *DAYS, *JOURNALLED, *DERIVED})


@cache
def _view_reads(kind: str) -> frozenset[str]:
    return frozenset(reads_of(view_sql(kind))) - {f"check_{kind}"}
