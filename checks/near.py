"""Which rows a rule has to look at again: those that changed, and whose findings hang with theirs.

Most queries find something about a row by itself, or by rows that share a value with it: its
member, its receipt book. They are then run as they stand, over the rows near to those that changed,
which for as long stand under the names of the kind's views. Queries that compare with a whole
season stand in no list here, and look at all of it.
"""

from collections.abc import Sequence

from pipeline.intake.kinds import kinds

# What rows share whose findings hang together; ROW: nothing, each row stands for itself.
ROW, MEMBER, BOOK, SHEET, KEY = "row", "member", "book", "sheet", "key"

# Of which other kinds and tables a row's own view shows what they say of its member.
BESIDE = {
    "weighings": ("members",),
    "deliveries": ("members", "matched", "unmatched"),
    "farm_record": ("members", "plots"),
    "plots": ("members",),
    "payments": ("members",),
}
# Of queries that ask no more than the row and what stands beside it; "" are the rules without one.
_OF_ROW = {
    "": ROW,
    "impossible_values": ROW,
    "wrong_order": ROW,
    "days_to_come": ROW,
    "corrects_nothing": ROW,
    "gone_rows": ROW,
    "after_closing": ROW,
    "unreadable_cells": SHEET,
    "missing_columns": SHEET,
    "late_sheets": SHEET,
    "keys_twice": KEY,
}
# Of the kinds that have many rows; of others all rows are looked at each time.
HANGS: dict[str, dict[str, str]] = {
    "weighings": _OF_ROW
    | {
        "likely_slips": MEMBER,
        "prices_missing": ROW,
        "prices_off_list": ROW,
        "receipts_of_two_forms": MEMBER,
        "void_receipts_used": BOOK,
        "receipt_gaps": BOOK,
        "receipts_out_of_order": BOOK,
    },
    "deliveries": _OF_ROW | {"likely_slips": MEMBER},
    "farm_record": _OF_ROW | {"picked_too_soon": MEMBER, "labour_of_days": MEMBER},
    "plots": _OF_ROW
    | {"areas_off_boundaries": ROW, "yields_above_ceiling": MEMBER, "plots_since_counted": MEMBER},
    "payments": _OF_ROW | {"paid_more_than_owed": MEMBER},
}
# Queries that go by what other sheets say of a member: coffee, the register, movements of money.
OF_OTHERS = ("yields_above_ceiling", "plots_since_counted", "paid_more_than_owed")
# All movements of money, and what each member is owed by them; those of the queries that go through
# these, and the kinds of sheets that they come from.
LEDGER = ("transfers", "member_account")
OF_MONEY = ("paid_more_than_owed",)
MONEY_KINDS = (
    "members",
    "weighings",
    "payments",
    "opening_balances",
    "season_so_far",
    "credit",
    "money_entries",
    "second_payments",
)
# What steps beside the rules read of members' rows: these are found once for all.
ALSO_READ = {
    "weighings": (
        "day",
        "species",
        "form",
        "grade",
        "station",
        "net_kg",
        "moisture_pct",
        "ripe_pct",
        "certificate",
    ),
}
# Columns that name a member whose rows hang together.
MEMBERS = ("member_no", "other_member")


def shared(kind: str, hang: str) -> tuple[str, ...]:
    """Return the columns by which rows of a kind hang together; none where it lacks one of them."""
    columns = {
        ROW: ("member_no",),
        MEMBER: ("member_no",),
        BOOK: ("station", "receipt_book"),
        SHEET: ("sheet_no",),
    }
    wanted = columns.get(hang, kinds()[kind].key)
    return wanted if hang == SHEET or all(kinds()[kind].has(name) for name in wanted) else ()


def hangs_on(query: str, kind: str, other: str) -> bool:
    """Tell whether what a query finds among a kind's rows may be looked at in part after a change.

    `other`: the kind whose rows changed; those that hang with them are then known.
    """
    hang = HANGS[kind][query]
    if hang == ROW:
        return other == kind or other in BESIDE[kind]
    if hang == MEMBER and query in OF_OTHERS:
        return any(kinds()[other].has(name) for name in MEMBERS)
    return other == kind or (hang == BOOK and bool(shared(other, hang)))


def parted(kind: str, queries: Sequence[str]) -> dict[str, list[str]]:
    """Return the queries by what their findings hang together by; "": those that look at all."""
    found: dict[str, list[str]] = {}
    for query in queries:
        found.setdefault(HANGS[kind].get(query, ""), []).append(query)
    return found
