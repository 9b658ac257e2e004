"""A season for the auditor: valid by the standard, equal to the ledger, personal only if asked."""

import csv
import datetime as dt
import zipfile
from decimal import Decimal
from hashlib import sha256

import fastexcel
import polars as pl
import pytest
from frictionless import Package

from reports.package import write_package
from reports.workbook import write_workbook

DAY = dt.date(2026, 10, 12)


@pytest.fixture(scope="module")
def given(small_season, facts, tmp_path_factory):
    """The small season in both ways, with a workbook each."""
    folders = {}
    for personal in (False, True):
        folder = folders[personal] = tmp_path_factory.mktemp("package")
        write_package(small_season, facts, folder, made_up_to="2026-10-12", personal=personal)
        write_workbook(
            small_season, facts, folder / "season.xlsx", made_up_to=DAY, personal=personal
        )
    return folders


def table(folder, name):
    with (folder / "data" / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.mark.parametrize("personal", [False, True])
def test_the_package_keeps_the_standard(given, personal):
    """Frictionless Standards version 1, as their own library finds: every cell, hash and key."""
    package = Package(str(given[personal] / "datapackage.json"))
    tabular = [r.name for r in package.resources if r.format == "csv"]
    for name in package.resource_names:
        if name not in tabular:
            package.remove_resource(name)
    report = package.validate()
    assert report.valid, report.flatten(["name", "fieldName", "note"])
    assert {"members", "weighings", "movements", "members-money"} <= set(tabular)


def test_the_tables_add_up_to_the_ledger(given, small_season):
    folder = given[False]
    (sums,) = small_season.execute(
        "select sum(value_minor), sum(deducted_minor), sum(paid_minor), sum(balance_minor) "
        "from member_season"
    ).fetchall()
    members = table(folder, "members_money")
    for name, minor in zip(("value", "deducted", "paid", "balance"), sums, strict=True):
        assert sum(Decimal(row[name]) for row in members) * 100 == minor
    for row in members:
        parts = ("opening", "value", "premium", "second", "other")
        owed = sum(Decimal(row[name]) for name in parts)
        assert owed - Decimal(row["deducted"]) - Decimal(row["paid"]) == Decimal(row["balance"])
    moved = {"coffee": 0, "deduction": 0, "payment": 0}
    for row in table(folder, "movements"):
        if row["what"] in moved:
            moved[row["what"]] += Decimal(row["amount"]) * 100
    assert list(moved.values()) == list(sums[:3])
    assert sum(Decimal(row["balance"]) for row in table(folder, "accounts")) == 0
    assert sum(Decimal(row["value"]) for row in table(folder, "priced")) * 100 == sums[0]


def test_every_row_points_to_its_sheet_or_is_said_not_to_count(given, small_season):
    folder = given[False]
    counted, aside = len(table(folder, "weighings")), table(folder, "not_counted")
    ((arrived,),) = small_season.execute("select count(*) from rows_weighings").fetchall()
    assert counted + len(aside) == arrived
    assert {row["state"] for row in aside} == {"held", "sent_back"}


def test_both_forms_hold_the_same(given):
    for path in sorted((given[True] / "data").glob("*.parquet")):
        kept = pl.read_parquet(path)
        assert len(kept) == len(table(given[True], path.stem))
        for row, twin in zip(
            table(given[True], path.stem), kept.iter_rows(named=True), strict=True
        ):
            for name, value in twin.items():
                text = "" if value is None else str(value)
                assert row[name].removeprefix("'") == text.removeprefix("'"), (path.stem, name)


def test_personal_columns_are_there_only_where_they_are_asked_for(given, hard_names):
    bare, whole = given[False], given[True]
    assert "name" not in table(bare, "members")[0]
    assert {"sheet_no", "row_no", "member_no", "village"} <= set(table(bare, "members")[0])
    for path in [*(bare / "data").glob("*.csv"), bare / "datapackage.json"]:
        text = path.read_text("utf-8")
        assert "Ŋala" not in text and "Ibo Marren" not in text, path
    kept = {row["name"].removeprefix("'") for row in table(whole, "members")}
    assert set(hard_names.values()) <= kept
    assert {row["recorder"] for row in table(whole, "weighings")} == {"Ibo Marren"}


def test_text_is_never_a_formula(given):
    names = {row["member_no"]: row["name"] for row in table(given[True], "members")}
    assert names["1004"] == "'=cmd"
    book = fastexcel.read_excel(given[True] / "season.xlsx")
    assert "=cmd" in book.load_sheet("Members").to_polars()["Name"]
    with zipfile.ZipFile(given[True] / "season.xlsx") as parts:
        pages = [name for name in parts.namelist() if name.startswith("xl/worksheets/")]
        assert len(pages) > 5
        assert not any(b"<f" in parts.read(name) for name in pages)


def test_the_workbook_says_what_it_holds_and_adds_up(given, small_season):
    book = fastexcel.read_excel(given[False] / "season.xlsx")
    about = book.load_sheet("About", header_row=4).to_polars()
    assert [title[:31] for title in about["Worksheet"]] == book.sheet_names[1:]
    owed = book.load_sheet("Money by member").to_polars()["Balance, USD"]
    ((minor,),) = small_season.execute("select sum(balance_minor) from member_season").fetchall()
    assert sum(round(one * 100) for one in owed) == minor


def test_the_same_season_gives_the_same_bytes(given, small_season, facts, tmp_path):
    write_package(small_season, facts, tmp_path, made_up_to="2026-10-12", personal=True)
    write_workbook(small_season, facts, tmp_path / "season.xlsx", made_up_to=DAY, personal=True)
    for path in (path for path in tmp_path.rglob("*") if path.is_file()):
        twin = given[True] / path.relative_to(tmp_path)
        assert sha256(path.read_bytes()).digest() == sha256(twin.read_bytes()).digest(), path.name
