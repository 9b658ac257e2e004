"""The plan of a second payment, as the assembly resolved it: a file in TOML, read or refused."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

import tomli

from pipeline.book_toml import Table
from pipeline.errors import PostingError, SettingsError
from pipeline.settings_money import minor

PLAN = "The plan"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pool:
    """One pool: the coffee that was sold together, what it brought, and how the rest is shared.

    All sums in whole minor units. `unsold_price`: what the stock is valued at a kg, None where the
    plan does not say. `species`, `grade`, `certificate`: "" for all. Either
    `rate_per_kg` was voted, or `sum_minor` is shared by kilograms.
    """

    code: str
    form: str
    species: str
    grade: str
    certificate: str
    proceeds_minor: int
    last_stock_minor: int
    costs: tuple[tuple[str, int], ...]
    interest_minor: int
    apart_minor: int
    unsold_kg: Decimal
    unsold_price: Decimal | None
    rate_per_kg: Decimal | None
    sum_minor: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A resolution on a second payment: its number and day, who is eligible, and the pools.

    `owed_from`: civil day from which it is owed; `member_on`: who was a member on that day.
    """

    text: str
    resolution_no: str
    resolution_on: date
    owed_from: date
    member_on: date
    least_kg: Decimal
    pools: tuple[Pool, ...]


def read_plan(text: str, decimals: int) -> Plan:
    """Read a plan; PostingError names table, key, value, why and what to write."""
    try:
        whole = Table("plan", tomli.loads(text), PLAN)
        resolution = Table("resolution", whole.raw.get("resolution"), PLAN)
        eligible = Table("eligible", whole.raw.get("eligible"), PLAN)
        plan = Plan(
            text=text,
            resolution_no=resolution.text("no"),
            resolution_on=resolution.day("day"),
            owed_from=resolution.day("owed_from"),
            member_on=eligible.day("member_on"),
            least_kg=eligible.number("least_kg"),
            pools=tuple(_pool(table, decimals) for table in whole.tables("pool")),
        )
    except tomli.TOMLDecodeError as error:
        raise PostingError(f"{PLAN} cannot be read: {error}. Mend that line.") from None
    except SettingsError as error:
        raise PostingError(str(error)) from None
    codes = [pool.code for pool in plan.pools]
    if not codes or len(set(codes)) < len(codes):
        raise PostingError(f"{PLAN}: write one [[pool]] a pool, each with a code of its own.")
    if plan.owed_from < plan.resolution_on:
        raise PostingError(f"{PLAN}: nothing is owed before the day of the resolution.")
    return plan


def _pool(table: Table, decimals: int) -> Pool:
    if ("rate_per_kg" in table.raw) == ("sum" in table.raw):
        raise table.wrong("rate_per_kg", "give either rate_per_kg or sum, one of the two.")
    rate = _price(table, "rate_per_kg")
    return Pool(
        code=table.text("code"),
        form=table.text("form"),
        species=table.text("species", ""),
        grade=table.text("grade", ""),
        certificate=table.text("certificate", ""),
        proceeds_minor=_stated(table, "proceeds", decimals),
        last_stock_minor=_stated(table, "last_season_stock", decimals),
        costs=tuple((c.text("name"), minor(c, "amount", decimals)) for c in table.tables("cost")),
        interest_minor=_stated(table, "finance_interest", decimals),
        apart_minor=_stated(table, "premiums_apart", decimals),
        unsold_kg=table.number("unsold_kg"),
        unsold_price=_price(table, "unsold_price_per_kg"),
        rate_per_kg=rate,
        sum_minor=minor(table, "sum", decimals) if "sum" in table.raw else None,
    )


def _price(table: Table, key: str) -> Decimal | None:
    """Read money a kg; None where it is not given."""
    if key not in table.raw:
        return None
    price = table.number(key)
    if price == 0 or price != round(price, 4):
        raise table.wrong(key, "above nought, with at most four decimals.")
    return price


def _stated(table: Table, key: str, decimals: int) -> int:
    """Read a sum that must be stated, be it nought: what is not said is not known."""
    table.text(key)
    return minor(table, key, decimals)
