"""Figures of the group report on yield, income and the crop to come: the members behind them."""

import datetime as dt
from collections.abc import Callable, Iterable
from typing import Any

import duckdb
import polars as pl

from pipeline.money import money_text
from pipeline.settings import Settings
from pipeline.yields.crop import estimate
from pipeline.yields.income import compared, village_name, villages_parted
from pipeline.yields.parts import Parts
from pipeline.yields.people import GROUPED_BY, people, rows_of
from pipeline.yields.small import NONE, OTHERS
from pipeline.yields.spread import income_spreads, known_margins, shown_under, yield_spreads

Explained = dict[str, Any]
# A figure's code without season and group, and what stands for its stars.
GROUPED = (
    "yield/*/*/*",
    "margin/*/*",
    "village/*",
    "since",
    "crop/*",
    "next_crop/*",
)
_SPREAD = (
    "lower quarter, median and upper quarter between the members of the group; a quartile between "
    "two members is taken on the straight line between them"
)


def explain_group(
    con: duckdb.DuckDBPyConnection, settings: Settings, season: str, name: str
) -> Explained | None:
    """Return one such figure as `explain_in` does, or None where there is none of that code.

    Rows are members' own figures with their codes, so that each can be followed further.
    """
    kind, *rest = name.split("/")
    makers: dict[str, Callable[..., Explained | None]] = {
        "yield": _yield,
        "margin": _margin,
        "village": _village,
        "since": _since,
        "crop": _crop,
        "next_crop": _next_crop,
    }
    if not any(_fits(name, pattern) for pattern in GROUPED):
        return None
    found = makers[kind](con, settings, season, *rest)
    empty: Explained = {"figure": f"{season}/group/{name}", "parts": [], "rows": [], "prices": []}
    return None if found is None else empty | found | {"more": 0}


def _fits(name: str, pattern: str) -> bool:
    asked, wanted = name.split("/"), pattern.split("/")
    return len(asked) == len(wanted) and all(
        want in ("*", part) for part, want in zip(asked, wanted, strict=True)
    )


def _members(
    season: str, some: pl.DataFrame, code: str, column: str, text: Callable[[Any], str]
) -> list[dict[str, Any]]:
    found = some.sort(column, "member_no").select("member_no", column)
    return [
        {"figure": f"{season}/{number}/{code}", "amount": text(amount)}
        for number, amount in found.iter_rows()
    ]


def _of_group(some: pl.DataFrame, by: str, name: str) -> pl.DataFrame:
    shown = shown_under(some, by)
    asked = "" if name == NONE else name
    is_it = pl.col("shown").is_null() if name == OTHERS else pl.col("shown") == asked
    return shown.filter(is_it)


def _named(name: str) -> str | None:
    return None if name == OTHERS else "" if name == NONE else name


def _yield(
    con: duckdb.DuckDBPyConnection, settings: Settings, season: str, by: str, name: str, coffee: str
) -> Explained | None:
    everyone = people(con)
    key = (by, _named(name), coffee)
    one = next((y for y in yield_spreads(everyone) if (y.by, y.name, y.species) == key), None)
    if one is None:
        return None
    grown = everyone.filter((pl.col("per_tree_kg") > 0) & (pl.col("species") == coffee))
    mine = _of_group(grown, by, name)
    return {
        "title": f"Yield a bearing tree, {coffee}, by {by.replace('_', ' ')}: {name}",
        "value": ", ".join(f"{kg:.3f}" for kg in (one.lower, one.middle, one.upper)),
        "unit": "kg a tree",
        "formula": f"{_SPREAD}; {one.members} members with trees and coffee",
        "rows": _members(season, mine, f"yield/{coffee}", "per_tree_kg", lambda kg: f"{kg:.3f}"),
    }


def _margin(
    con: duckdb.DuckDBPyConnection, settings: Settings, season: str, by: str, name: str
) -> Explained | None:
    everyone = people(con)
    key = (by, _named(name))
    one = next((i for i in income_spreads(everyone) if (i.by, i.name) == key), None)
    if one is None or by not in GROUPED_BY:
        return None
    money = _money(settings)
    return {
        "title": f"Gross margin a member, by {by.replace('_', ' ')}: {name}",
        "value": "; ".join(money(minor) for minor in (one.lower, one.middle, one.upper)),
        "unit": settings.currency,
        "formula": f"{_SPREAD}; {one.members} members whose margin is known, {one.below} of them "
        "with a cost above their price",
        "rows": _members(
            season,
            _of_group(known_margins(everyone), by, name),
            "margin",
            "margin_minor",
            money,
        ),
    }


def _money(settings: Settings) -> Callable[[int], str]:
    return lambda minor: money_text(minor, settings.decimals)


def _parts(settings: Settings, parts: Parts) -> list[dict[str, str]]:
    money = _money(settings)
    named = (
        ("bearing trees", parts.trees),
        ("yield a tree", parts.yield_),
        ("price", parts.price),
        ("quality: grade and moisture", parts.quality),
        ("coffee whose trees or best price are not known", parts.other),
    )
    return [
        {"sign": "+", "figure": "", "title": title, "value": money(minor)} for title, minor in named
    ]


_SHARED = (
    "the logarithmic mean of both values times the logarithm of each factor's change; the parts "
    "add up to the coin"
)


def _village(
    con: duckdb.DuckDBPyConnection, settings: Settings, season: str, name: str
) -> Explained | None:
    everyone = people(con)
    asked = _named(name)
    one = next((v for v in villages_parted(everyone) if v.name == asked), None)
    if one is None or one.parts is None:
        return None
    mine = village_name(everyone)
    is_it = pl.col("village").is_null() if asked is None else pl.col("village") == asked
    money = _money(settings)
    return {
        "title": f"Value of coffee of {name} beside the group's average on as many trees",
        "value": money(one.parts.difference),
        "unit": settings.currency,
        "formula": f"value of the priced coffee of {one.members} members less what the group's "
        f"average would be on their bearing trees; parted by {_SHARED}",
        "parts": _parts(settings, one.parts),
        "rows": _members(season, mine.filter(is_it), "value", "priced_minor", money),
    }


def _since(con: duckdb.DuckDBPyConnection, settings: Settings, season: str) -> Explained | None:
    seasons = rows_of(con, "crops")
    one = compared(seasons)
    if one is None or one.parts is None or not isinstance(one.name, dt.date):
        return None
    money = _money(settings)
    lines = [
        f"season to {row['ended_on']}: {row['kg']} kg green of {row['trees']} bearing trees worth "
        f"{money(row['value_minor'])}, {money(row['best_minor'])} at the best price of its lists; "
        f"other coffee {money(row['other_minor'])}"
        for row in seasons
        if row["ended_on"] == one.name or row is seasons[-1]
    ]
    return {
        "title": f"Change in the value of coffee since the season that ended on {one.name}",
        "value": money(one.parts.difference),
        "unit": settings.currency,
        "formula": f"value now less value then, parted by {_SHARED}; " + "; ".join(lines),
        "parts": _parts(settings, one.parts),
    }


def _crop(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    season: str,
    station: str,
    *,
    ahead: bool = False,
) -> Explained | None:
    crop = estimate(con, ahead=ahead)
    if crop is None:
        return None
    one = next((s for s in crop.stations if s.name == _named(station)), None)
    if one is None:
        return None
    rests = f"{crop.seasons} earlier seasons"
    if crop.share_in is not None and not ahead:
        rests += f" and what is in: {100 * crop.share_in:.1f} % of a usual crop is in by now"
    mine = crop.members.filter(pl.col("station") == one.name)
    return {
        "title": f"Crop of {'the next' if ahead else 'this'} season at {station}",
        "value": f"{one.kg:,.0f} ({one.low:,.0f} to {one.high:,.0f})",
        "unit": "kg green",
        "formula": f"estimated from the trees, their age and wood, {rests}; eight crops in ten "
        f"should lie in the range; in so far {one.in_kg:,.0f} kg",
        "rows": list(_bore(season, mine)),
    }


def _next_crop(
    con: duckdb.DuckDBPyConnection, settings: Settings, season: str, station: str
) -> Explained | None:
    return _crop(con, settings, season, station, ahead=True)


def _bore(season: str, mine: pl.DataFrame) -> Iterable[dict[str, Any]]:
    for number, coffee, kg in mine.select("member_no", "species", "kg").iter_rows():
        yield {"figure": f"{season}/{number}/before/{coffee}", "amount": f"{kg:,.0f} kg expected"}
