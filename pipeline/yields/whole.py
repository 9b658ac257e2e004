"""All that is said of a group's yield, income, practice and next crop, in one go."""

from dataclasses import dataclass
from typing import Any

import duckdb

from pipeline.book.macros import load_macros
from pipeline.yields.crop import Crop, estimate
from pipeline.yields.income import Came, Compared, came_and_went, compared, villages_parted
from pipeline.yields.needs import Needs, needs
from pipeline.yields.people import frame, people, rows_of
from pipeline.yields.practice import Beside, Done, beside, done, practices
from pipeline.yields.spread import IncomeSpread, YieldSpread, income_spreads, yield_spreads
from pipeline.yields.training import Proposed, Worth, proposed, worths


@dataclass(frozen=True, slots=True, kw_only=True)
class Whole:
    """Every figure of the report's parts on yield, income, practice and the next season."""

    yields: list[YieldSpread]
    blocks: list[dict[str, Any]]
    held: list[dict[str, Any]]
    incomes: list[IncomeSpread]
    came: list[Came]
    margins_held: list[dict[str, Any]]
    seasons: list[dict[str, Any]]
    since: Compared | None
    villages: list[Compared]
    done: list[Done]
    beside: list[Beside]
    worths: dict[str, Worth]
    trainings: list[Proposed]
    pests: list[dict[str, Any]]
    soil: list[dict[str, Any]]
    crop: Crop | None
    ahead: Crop | None
    needs: Needs | None


def whole(con: duckdb.DuckDBPyConnection) -> Whole:
    """Work out every figure of one season file."""
    load_macros(con)
    everyone = people(con)
    known = practices(con)
    worth = worths(con, everyone)
    seasons = rows_of(con, "crops")
    ahead = estimate(con, ahead=True)
    return Whole(
        yields=yield_spreads(everyone),
        blocks=rows_of(con, "blocks_by_class"),
        held=rows_of(con, "yields_held"),
        incomes=income_spreads(everyone),
        came=came_and_went(con),
        margins_held=rows_of(con, "margins_held"),
        seasons=seasons,
        since=compared(seasons),
        villages=villages_parted(everyone),
        done=done(known, everyone),
        beside=beside(known, everyone),
        worths=worth,
        trainings=proposed(known, everyone, frame(con, "trained"), worth),
        pests=rows_of(con, "pests"),
        soil=rows_of(con, "soil"),
        crop=estimate(con),
        ahead=ahead,
        needs=needs(con, ahead) if ahead else None,
    )
