"""A book's own limits take the place of the defaults, the most exact first, and flags say so."""

import json
import re
import tomllib
from decimal import Decimal
from importlib import resources
from pathlib import Path

import pytest

from checks.limits import UnknownLimit, applied, limits, refuse_unknown
from checks.listing import rule_dicts, rule_list
from checks.rules import RULES
from pipeline.declared import LimitSetting
from pipeline.errors import SettingsError
from pipeline.settings import read_settings
from tests.take.small import ASHA, SETTINGS, ask, made, registers, sheet, taken


def _limit(name: str, value: str, **over: str) -> str:
    more = "".join(f'{key} = "{code}"\n' for key, code in over.items())
    return f'\n[[limit]]\nname = "{name}"\nvalue = "{value}"\nbecause = "Resolution 4"\n{more}'


OWN = (
    SETTINGS
    + _limit("moisture_safe_high", "12.5", form="parchment")
    + _limit("moisture_safe_high", "11.5", form="parchment", station="ARD")
    + _limit("density_high", "1800", species="arabica")
    + _limit("record_differs", "5", station="ARD")
)


def test_the_most_exact_setting_wins_and_the_flag_shows_its_value(tmp_path: Path) -> None:
    ard = {"station": "ARD", "scale": "ARD-1", "receipt_book": "A01"}
    at_kes = [
        {"receipt_no": "1", "moisture_pct": "12.5"},
        {"receipt_no": "2", "moisture_pct": "12.6"},
    ]
    at_ard = [
        {"receipt_no": "3", "moisture_pct": "11.5", **ard},
        {"receipt_no": "4", "moisture_pct": "11.6", **ard},
    ]
    wrote = [
        # 15 % at the one station, 5 % at the other.
        {"receipt_book": "K01", "receipt_no": "1", "kg": "69.0"},
        {"receipt_book": "A01", "receipt_no": "3", "kg": "63.0", "station": "ARD"},
        {"receipt_book": "A01", "receipt_no": "4", "kg": "63.1", "station": "ARD"},
    ]
    plots = [
        {"plot_no": "2", "trees": "1800", "area_ha": "1"},
        {"plot_no": "3", "trees": "1801", "area_ha": "1"},
    ]
    book = made(tmp_path / "book", OWN)
    taken(
        book,
        *registers(tmp_path),
        sheet(tmp_path, "k.csv", "weighings", at_kes),
        sheet(tmp_path, "a.csv", "weighings", at_ard),
        sheet(tmp_path, "d.csv", "deliveries", wrote),
        sheet(tmp_path, "p.csv", "plots", plots),
    )
    shown = {
        (name, row, rule): json.loads(facts)
        for name, row, rule, facts in ask(
            book,
            "select s.name, f.row_no, f.rule, f.facts from flags f join sheets s using (sheet_no) "
            "where f.rule in ('moisture-unsafe', 'record-differs') or s.name = 'p.csv'",
        )
    }
    assert set(shown) == {
        ("k.csv", 3, "moisture-unsafe"),
        ("a.csv", 3, "moisture-unsafe"),
        ("d.csv", 4, "record-differs"),
        ("p.csv", 3, "density-off-species"),
    }
    assert Decimal(shown["k.csv", 3, "moisture-unsafe"]["moisture_safe_high"]) == Decimal("12.5")
    assert Decimal(shown["a.csv", 3, "moisture-unsafe"]["moisture_safe_high"]) == Decimal("11.5")
    assert Decimal(shown["d.csv", 4, "record-differs"]["record_differs"]) == 5
    assert Decimal(shown["p.csv", 3, "density-off-species"]["density_high"]) == 1800
    # A limit that nobody set stays what it was.
    assert Decimal(shown["p.csv", 3, "density-off-species"]["density_low"]) == 650
    assert ask(book, "select member_no from plots where row_no = 3 and plot_no = '3'") == [(ASHA,)]


def test_a_setting_brings_its_reason_with_it() -> None:
    own = read_settings(OWN).limits
    at_ard = applied("moisture_safe_high", own, form="parchment", station="ARD")
    assert (at_ard.value, at_ard.source) == (
        Decimal("11.5"),
        "This cooperative's own limit: Resolution 4",
    )
    elsewhere = applied("moisture_safe_high", own, form="green", station="ARD")
    assert elsewhere.value == limits()["moisture_safe_high"].by["form"]["green"]
    assert "2026" in elsewhere.source


def test_of_two_settings_as_exact_the_later_holds() -> None:
    twice = [LimitSetting(name="price_high", value=Decimal(n), because=f"no {n}") for n in (4, 5)]
    assert applied("price_high", twice).value == 5


def test_a_limit_of_a_zone_holds_at_its_stations_and_a_stations_own_before_it(
    tmp_path: Path,
) -> None:
    own = _limit("record_differs", "9", zone="middle") + _limit("record_differs", "8", zone="low")
    book = made(tmp_path / "book", SETTINGS + own + _limit("record_differs", "7", station="ARD"))
    taken(book, *registers(tmp_path))
    here = "select station, record_differs from limits_here where species = '' and form = ''"
    default = limits()["record_differs"].default
    assert dict(ask(book, here)) == {"": default, "KES": Decimal(9), "ARD": Decimal(7)}


def test_a_limit_that_does_not_exist_is_refused_with_those_there_are(tmp_path: Path) -> None:
    own = LimitSetting(name="moisture_save_high", value=Decimal(1), because="")
    with pytest.raises(UnknownLimit, match=r"'moisture_save_high'\. There are: .*moisture_safe_"):
        refuse_unknown([own])
    own = LimitSetting(name="price_high", value=Decimal(1), because="", form="parchement")
    with pytest.raises(UnknownLimit, match=r"'parchement', which is no species or form"):
        refuse_unknown([own])


@pytest.mark.parametrize(
    ("setting", "says"),
    [
        (_limit("moisture_save_high", "12"), "moisture_save_high"),
        (_limit("price_high", "12", form="parchement"), "parchement"),
        (_limit("price_high", "12", station="NOWHERE"), "NOWHERE"),
        (_limit("price_high", "12", zone="high"), "no station lies in zone 'high'"),
        (_limit("price_high", "12", zone="low", station="ARD"), "a zone or a station, not both"),
    ],
)
def test_a_book_with_such_a_limit_is_refused_before_it_is_made(
    tmp_path: Path, setting: str, says: str
) -> None:
    with pytest.raises(SettingsError, match=says):
        made(tmp_path / "book", SETTINGS + setting)
    assert not (tmp_path / "book").exists()


def used_to_work_out() -> set[str]:
    """The limits that a query of the season takes from `limits_here`, whatever a comment says."""
    folders = [resources.files(f"pipeline.{name}").joinpath("sql") for name in ("season", "yields")]
    entries = [entry for folder in folders for entry in folder.iterdir()]
    texts = [entry.read_text("utf-8") for entry in entries if entry.name.endswith(".sql")]
    queries = [re.sub("--.*", "", text) for text in texts if "limits_here" in text]
    return {name for name in limits() if any(re.search(rf"\.{name}\b", query) for query in queries)}


def test_every_limit_is_looked_at_by_a_rule_or_used_to_work_out_the_season() -> None:
    looked_at = {name for rule in RULES for name in rule.limits}
    assert looked_at <= set(limits())
    assert set(limits()) == looked_at | used_to_work_out()
    assert {"handling_loss", "cherry_per_green", "match_within"} <= used_to_work_out()
    raw = tomllib.loads(resources.files("checks").joinpath("limits.toml").read_text("utf-8"))
    assert all({"unit", "source", "date"} <= set(entry) for entry in raw.values())


def test_the_rule_list_is_current() -> None:
    kept = Path(__file__).parents[2] / "checks" / "README.md"
    assert kept.read_text("utf-8") == rule_list()
    assert [rule["code"] for rule in rule_dicts()] == [rule.code for rule in RULES]
    assert all(f"### `{rule.code}`" in rule_list() for rule in RULES)
