"""The fixed words of the documents, as source strings for the catalogue."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache

from pipeline.intake.kinds import kinds
from reports.words import catalogue, mark

COFFEE = {
    "arabica": mark("Arabica"),
    "robusta": mark("Robusta"),
    "fresh_cherry": mark("fresh cherry"),
    "dry_cherry": mark("dry cherry"),
    "parchment": mark("parchment"),
    "green": mark("green"),
}
METHODS = {"cash": mark("cash"), "bank": mark("bank"), "mobile": mark("mobile money")}
ENTRIES = {
    "correction_up": mark("Correction in your favour"),
    "correction_down": mark("Correction, taken back"),
    "repayment": mark("Repaid beyond your loan"),
    "moved": mark("Balance moved"),
    "shares_out": mark("Shares paid back"),
    "unclaimed": mark("Kept as unclaimed money"),
    "claimed": mark("Unclaimed money, claimed"),
}
# Deductions that are there though no line of book.toml declares them, and what allows them.
UNDECLARED = (
    mark("Loans and inputs on credit"),
    mark("Charges"),
    mark("as each note or charge names it"),
)
ACTIONS = {
    "count": mark("counted as written"),
    "amend": mark("corrected"),
    "leave-out": mark("left out"),
}

STATEMENT = {
    "member_no": mark("Member"),
    "village": mark("Village"),
    "station": mark("Station"),
    "number": mark("Statement"),
    "day": mark("Date"),
    "season": mark("Season"),
    "coffee": mark("Coffee delivered"),
    "kind": mark("Coffee"),
    "deliveries": mark("Deliveries"),
    "kg": mark("Net kg"),
    "gbe": mark("Green bean equivalent, kg"),
    "gbe_short": mark("Green, kg"),
    "value": mark("Value"),
    "money": mark("Value, deductions and payments"),
    "apart": mark("Loan, shares and what is still due"),
    "yield": mark("Yield of your trees"),
    "record": mark("Your farm record"),
    "advice": mark("What could help"),
    "waiting": mark("Coffee that waits"),
    "decisions": mark("Decisions on your rows"),
    "questions": mark("If a figure looks wrong"),
    "detail": mark("Trees, costs and margin in figures"),
    "cash": mark("Cash month by month"),
    "cash_paid": mark("Paid to you"),
    "cash_spent": mark("Spent"),
    "cash_left": mark("Left"),
    "month": mark("Month"),
    "lines": mark("Every delivery"),
    "payments": mark("Every payment"),
    "receipt": mark("Receipt"),
    "moisture": mark("Moisture %"),
    "price": mark("Price a kg"),
    "deducted": mark("Deducted"),
    "paid_day": mark("Day"),
    "payment_no": mark("Payment"),
    "village_half": mark("middle half of the village"),
    "you": mark("your trees"),
    "no_lines": mark("No delivery is counted this season."),
    "a_kg": mark("a kg"),
    "deducted_small": mark("deducted"),
    "grade": mark("Grade"),
    "stands": mark("Sheet: row"),
    "what": mark("What"),
    "at_start": mark("At the start"),
    "more": mark("Added"),
    "less": mark("Taken off"),
    "now": mark("Now"),
    "notes": mark("Your loan in detail"),
    "method": mark("How"),
    "together": mark("Together"),
    "behind": mark("The rest stands on the next pages."),
    "on_rows": mark("Decisions on your rows stand on the next pages."),
}


@cache
def labels(language: str) -> dict[str, str]:
    """The statement's fixed words in a language."""
    gettext = catalogue(language).gettext
    return {key: gettext(text) for key, text in STATEMENT.items()}


def word(words: Mapping[str, str], code: str) -> str:
    """The source string of a stored value; a value nobody named stands for itself."""
    return words.get(code, code)


def coffee_name(gettext: Callable[[str], str], species: str | None, form: str | None) -> str:
    """Species and form as printed: Arabica, fresh cherry."""
    parts = [gettext(word(COFFEE, part)) for part in (species, form) if part]
    return ", ".join(parts)


def column_title(kind: str, column: str, language: str) -> str:
    """A column's heading as its sheet prints it, in the language where there is one."""
    for declared in kinds()[kind].columns:
        if column in (declared.name, declared.stored):
            return declared.spellings.get(language, declared.spellings["en"])[0]
    return column
