"""The second payment: what each pool leaves, each member's working, and posting it by two."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from pipeline.book.book import Book, kept_settings
from pipeline.errors import PostingError
from pipeline.money import divide_half_away, largest_remainder, money_text
from pipeline.posting import post, sheet_text
from pipeline.raises import refuse_alone
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, dicts, rows, season_sql
from pipeline.second_plan import Plan, Pool, read_plan
from pipeline.settings import Settings
from pipeline.taken import Taken

KIND = "second_payments"


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """One member's share of a pool: kilograms, amount in minor units, and how it is worked out."""

    pool: str
    member_no: str
    name: str
    kg: Decimal
    amount_minor: int
    working: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolPreview:
    """What a pool brought and leaves, in minor units; kilograms of those who share and do not.

    `unsold_minor`: the stock at the price that the plan declares, in no other sum; None without.
    """

    code: str
    proceeds_minor: int
    last_stock_minor: int
    costs: tuple[tuple[str, int], ...]
    interest_minor: int
    apart_minor: int
    first_payment_minor: int
    available_minor: int
    shared_minor: int
    reserve_minor: int
    kg: Decimal
    excluded_kg: Decimal
    unsold_kg: Decimal
    unsold_price: Decimal | None
    unsold_minor: int | None
    rate_per_kg: Decimal | None
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A second payment as it would be posted: pools, shares, and who has none, with the reason."""

    resolution_no: str
    resolution_on: date
    owed_from: date
    pools: tuple[PoolPreview, ...]
    shares: tuple[Share, ...]
    excluded: tuple[dict[str, Any], ...]


def preview(book: Book, season: str, plan_text: str, *, posted: bool = False) -> Preview:
    """Work a second payment out and post nothing; PostingError where it is over the proceeds.

    `posted`: show it even where it was posted already.
    """
    settings = kept_settings(book.journal())
    days = settings.season(season)
    plan = read_plan(plan_text, settings.decimals)
    if not days.first_day <= plan.owed_from <= days.last_day:
        raise PostingError(
            f"The plan: {plan.owed_from} is no day of season {season}. A second payment for a "
            "season that is over is owed in the season that is open."
        )
    pools: list[PoolPreview] = []
    shares: list[Share] = []
    excluded: list[dict[str, Any]] = []
    with connect(str(must_have(book, season)), macros=True) as con:
        for pool in plan.pools:
            asked = {
                "form": pool.form,
                "species": pool.species,
                "grade": pool.grade,
                "certificate": pool.certificate,
                "member_on": plan.member_on,
                "least_kg": plan.least_kg,
            }
            found = dicts(con, season_sql("pool_members"), asked)
            kept = [row for row in found if not row["why_not"]]
            excluded += [{"pool": pool.code, **row} for row in found if row["why_not"]]
            pools.append(_pool(pool, found, kept, settings))
            shares += _shares(pool, kept, settings)
        if not posted:
            _refuse_posted(con, plan)
    return Preview(
        resolution_no=plan.resolution_no,
        resolution_on=plan.resolution_on,
        owed_from=plan.owed_from,
        pools=tuple(pools),
        shares=tuple(shares),
        excluded=tuple(excluded),
    )


def _refuse_posted(con: Any, plan: Plan) -> None:
    codes = [pool.code for pool in plan.pools]
    done = rows(
        con,
        "select distinct pool, resolution_no from second_payments where state = 'counted' "
        "and list_contains($codes, pool) order by pool",
        {"codes": codes},
    )
    if done:
        pool, resolution = done[0]
        raise PostingError(
            f"Pool {pool} has its second payment already, under resolution {resolution}. What is "
            "to be added is a pool with a code of its own; what was wrong is corrected by an entry."
        )


def _pool(
    pool: Pool, found: list[dict[str, Any]], kept: list[dict[str, Any]], settings: Settings
) -> PoolPreview:
    """Add a pool up; PostingError where more would be shared than it leaves."""
    first = sum(int(row["paid_minor"]) for row in found)
    available = (
        pool.proceeds_minor
        + pool.last_stock_minor
        - sum(amount for _, amount in pool.costs)
        - pool.interest_minor
        - pool.apart_minor
        - first
    )
    shared = sum(_amounts(pool, kept, settings.decimals))
    text = settings.decimals
    if not kept:
        raise PostingError(f"Pool {pool.code}: no eligible member delivered any of this coffee.")
    if shared > available:
        raise PostingError(
            f"Pool {pool.code}: {money_text(shared, text)} would be shared, and only "
            f"{money_text(available, text)} is left of the proceeds after costs, interest and "
            "first payment. Nothing is posted. Lower the rate or the sum, or correct the plan."
        )
    return PoolPreview(
        code=pool.code,
        proceeds_minor=pool.proceeds_minor,
        last_stock_minor=pool.last_stock_minor,
        costs=pool.costs,
        interest_minor=pool.interest_minor,
        apart_minor=pool.apart_minor,
        first_payment_minor=first,
        available_minor=available,
        shared_minor=shared,
        reserve_minor=available - shared,
        kg=sum((row["kg"] for row in kept), Decimal(0)),
        excluded_kg=sum((row["kg"] for row in found if row["why_not"]), Decimal(0)),
        unsold_kg=pool.unsold_kg,
        unsold_price=pool.unsold_price,
        unsold_minor=_at(pool.unsold_kg, pool.unsold_price, settings.decimals),
        rate_per_kg=pool.rate_per_kg,
        how=f"{pool.rate_per_kg} a kg" if pool.rate_per_kg else "a fixed sum, by kilograms",
    )


def _amounts(pool: Pool, kept: list[dict[str, Any]], decimals: int) -> list[int]:
    if pool.rate_per_kg is None:
        grams = [int(row["kg"] * 1000) for row in kept]
        return largest_remainder(pool.sum_minor or 0, grams) if kept else []
    return [_at(row["kg"], pool.rate_per_kg, decimals) or 0 for row in kept]


def _at(kg: Decimal, price: Decimal | None, decimals: int) -> int | None:
    """Return kilograms at a price with four decimals, in minor units, rounded once."""
    if price is None:
        return None
    return divide_half_away(int(kg * 1000) * int(price.scaleb(4)) * 10**decimals, 10**7)


def _shares(pool: Pool, kept: list[dict[str, Any]], settings: Settings) -> list[Share]:
    whole = sum((row["kg"] for row in kept), Decimal(0))
    shares: list[Share] = []
    for row, amount in zip(kept, _amounts(pool, kept, settings.decimals), strict=True):
        said = money_text(amount, settings.decimals)
        working = (
            f"{row['kg']} kg x {pool.rate_per_kg} = {said}"
            if pool.rate_per_kg is not None
            else f"{money_text(pool.sum_minor or 0, settings.decimals)} x {row['kg']} / {whole} kg "
            f"= {said}, the last coins to the largest remainders"
        )
        shares.append(
            Share(
                pool=pool.code,
                member_no=row["member_no"],
                name=row["name"],
                kg=row["kg"],
                amount_minor=amount,
                working=working,
            )
        )
    return shares


def post_second(
    book: Book,
    season: str,
    plan_text: str,
    *,
    by: str,
    second: str,
    day: date | None = None,
    at: str = "",
) -> tuple[Preview, Taken]:
    """Post a second payment: the shares become a sheet of the book, with both people's names.

    PostingError where one person would do it alone, where it is over the proceeds, or where a pool
    has its second payment already; nothing is posted in part.
    """
    settings = kept_settings(book.journal())
    refuse_alone(settings, by, second)
    shown = preview(book, season, plan_text)
    plan = read_plan(plan_text, settings.decimals)
    rates = {pool.code: pool.rate_per_kg for pool in plan.pools}
    lines = [
        {
            "resolution_no": plan.resolution_no,
            "resolution_on": str(plan.resolution_on),
            "day": str(plan.owed_from),
            "pool": share.pool,
            "member_no": share.member_no,
            "kg": str(share.kg),
            "rate_per_kg": "" if rates[share.pool] is None else str(rates[share.pool]),
            "amount": money_text(share.amount_minor, settings.decimals).replace(",", ""),
        }
        for share in shown.shares
        if share.amount_minor
    ]
    name = f"second_payment_{plan.resolution_no}.csv".replace("/", "-")
    taken = post(
        book,
        name,
        KIND,
        sheet_text(KIND, lines),
        by=by,
        second=second,
        about={"season": season, "plan": plan_text},
        day=day,
        at=at,
    )
    return shown, taken
