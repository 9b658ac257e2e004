"""The command on what to plan: training, the crop to come, and what it needs."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pipeline.cli.main import book_argument, json_option
from pipeline.cli.yields import as_money, season_option

if TYPE_CHECKING:
    from pipeline.yields.crop import Crop


@click.command()
@book_argument
@season_option
@json_option
def plan(book: Path, season: str | None, as_json: bool) -> None:
    """Print which training to give where, the crop to come with its range, and what it needs.

    \b
    Example: weighbook plan ridge-book
    """
    from pipeline.book.book import kept_settings, open_book
    from pipeline.cli import show
    from pipeline.season.tables import connect
    from pipeline.stock import season_of
    from pipeline.upkeep import whole_file
    from pipeline.yields.said import CAUTION, TOPICS, WARNING
    from pipeline.yields.whole import whole

    opened = open_book(book)
    settings = kept_settings(opened.journal())
    with connect(str(whole_file(opened, season_of(opened, season))), macros=True) as con:
        found = whole(con)
    if as_json:
        parts = ("trainings", "worths", "beside", "done", "needs")
        crops = {name: _told(getattr(found, name)) for name in ("crop", "ahead")}
        show.as_json({name: getattr(found, name) for name in parts} | crops)
        return
    show.table(
        ("Village", "Training", "Members", f"May be worth, {settings.currency}"),
        [
            (
                one.village or "not known",
                TOPICS[one.topic],
                f"{one.reach}",
                "cannot tell"
                if one.low_minor is None
                else f"{as_money(one.low_minor, settings.decimals)} to "
                f"{as_money(one.high_minor, settings.decimals)}",
            )
            for one in found.trainings
        ],
        right="  rr",
    )
    click.echo(WARNING + "\n")
    for title, crop in (("This season", found.crop), ("Next season", found.ahead)):
        _print_crop(title, crop)
    if found.needs:
        needs = found.needs
        lines = [
            ("Basins of manure, one a bearing tree", f"{needs.manure_basins:,}"),
            ("Seedlings for gaps", f"{needs.seedlings:,}"),
            ("Trees to mulch", f"{needs.mulch_trees:,}"),
            ("Bags of 60 kg green", _range(needs.bags)),
            *([("Drying space, m²", _range(needs.drying_m2))] if needs.drying_m2 else []),
            *((f"Pickers a day, {month}", _range((a, b))) for month, a, b in needs.pickers),
        ]
        if needs.cash_minor:
            low, high = (as_money(minor, settings.decimals) for minor in needs.cash_minor)
            lines.append((f"Cash for first payments, {settings.currency}", f"{low} to {high}"))
        show.table(("The next season needs", ""), lines, right=" r")
    click.echo(CAUTION)


def _range(ends: tuple[int, int]) -> str:
    return f"{ends[0]:,} to {ends[1]:,}"


def _told(crop: "Crop | None") -> Any:
    if crop is None:
        return None
    return {
        "share_of_days": crop.share_of_days,
        "share_in": crop.share_in,
        "seasons": crop.seasons,
        "group": crop.group,
        "stations": crop.stations,
        "members": crop.members.to_dicts(),
        "blocks": crop.blocks.select(
            "member_no", "plot_no", "species", "kg", "low", "high"
        ).to_dicts(),
    }


def _print_crop(title: str, crop: "Crop | None") -> None:
    from pipeline.cli import show

    if crop is None:
        click.echo(f"{title}: no bearing trees are in the register, so no crop can be estimated.")
        return
    show.table(
        (title, "In, kg green", "Estimate", "From", "To"),
        [
            (one.name or name, *(f"{kg:,.0f}" for kg in (one.in_kg, one.kg, one.low, one.high)))
            for name, one in [
                *(("not known", one) for one in crop.stations),
                ("together", crop.group),
            ]
        ],
        right=" rrrr",
    )
    click.echo(f"It rests on the trees and on {crop.seasons} earlier seasons.\n")
