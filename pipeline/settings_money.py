"""The tables of book.toml that are about money: deductions, premiums, paying and voting."""

from decimal import Decimal

from pipeline.book_toml import Table
from pipeline.declared_money import TAKES, Deduction, Paying, Premium, Voting

PER_CENT = Decimal(100)


def minor(table: Table, key: str, decimals: int, *, default: int = 0) -> int:
    """Read an amount of the book's currency as whole minor units: "0.05" is 5 at two decimals."""
    if key not in table.raw:
        return default
    amount = table.number(key).scaleb(decimals)
    if amount != int(amount):
        raise table.wrong(key, f"the currency has {decimals} decimals.")
    return int(amount)


def deduction(table: Table, decimals: int) -> Deduction:
    """Read one [[deduction]]; SettingsError where its amount or its kind does not fit."""
    takes = table.text("takes", "")
    if takes not in TAKES:
        raise table.wrong("takes", f"write one of: {', '.join(filter(None, TAKES))}.")
    by_rate = takes in ("", "shares")
    if by_rate and ("percent" in table.raw) == ("per_kg" in table.raw):
        raise table.wrong("percent", "give either percent or per_kg, one of the two.")
    if not by_rate and ("percent" in table.raw or "per_kg" in table.raw):
        raise table.wrong("takes", "what is owed is taken whole: give no percent and no per_kg.")
    if (takes == "shares") != ("until" in table.raw):
        raise table.wrong("until", 'a contribution to shares, and only it, is taken "until" a sum.')
    keep = table.number("keep_percent") if "keep_percent" in table.raw else Decimal(0)
    if keep > PER_CENT:
        raise table.wrong("keep_percent", "a member keeps at most 100 percent.")
    return Deduction(
        code=table.text("code"),
        name=table.text("name"),
        authority=table.text("authority"),
        form=table.text("form", ""),
        percent=_percent(table, "a deduction takes at most 100 percent."),
        per_kg=table.number("per_kg") if "per_kg" in table.raw else None,
        takes=takes,
        until_minor=minor(table, "until", decimals) if takes == "shares" else None,
        keep_percent=keep,
        names=table.in_languages("names"),
    )


def premium(table: Table, *, discount: bool) -> Premium:
    """Read one [[premium]] or [[discount]]: by percent of the value or per_kg."""
    if ("percent" in table.raw) == ("per_kg" in table.raw):
        raise table.wrong("percent", "give either percent or per_kg, one of the two.")
    return Premium(
        code=table.text("code"),
        name=table.text("name"),
        authority=table.text("authority"),
        discount=discount,
        percent=_percent(table, "at most 100 percent of the value."),
        per_kg=table.number("per_kg") if "per_kg" in table.raw else None,
        species=table.text("species", ""),
        form=table.text("form", ""),
        grade=table.text("grade", ""),
        station=table.text("station", ""),
        certificate=table.text("certificate", ""),
        from_day=table.day("from") if "from" in table.raw else None,
        until_day=table.day("until") if "until" in table.raw else None,
        ripe_from=table.number("ripe_from") if "ripe_from" in table.raw else None,
        moisture_above=table.number("moisture_above") if "moisture_above" in table.raw else None,
    )


def _percent(table: Table, at_most: str) -> Decimal | None:
    percent = table.number("percent") if "percent" in table.raw else None
    if percent is not None and percent > PER_CENT:
        raise table.wrong("percent", at_most)
    return percent


def paying(table: Table, decimals: int) -> Paying:
    """Read [paying]; all of it may be left out until a payment list is asked for."""
    coin = minor(table, "cash_coin", decimals, default=1)
    if coin == 0:
        raise table.wrong("cash_coin", "the smallest coin or note is worth more than nought.")
    return Paying(
        coin_minor=coin,
        least_minor=minor(table, "least_payment", decimals, default=1),
        payer=table.text("payer", ""),
        account=table.text("account", ""),
        agent=table.text("agent", ""),
    )


def voting(table: Table) -> Voting:
    """Read [voting]: the rule by which the roll for the assembly is made."""
    return Voting(
        least_shares=table.whole("least_shares") if "least_shares" in table.raw else 0,
        least_kg=table.number("least_kg") if "least_kg" in table.raw else Decimal(0),
        days=table.whole("days") if "days" in table.raw else 0,
        authority=table.text("authority", ""),
    )
