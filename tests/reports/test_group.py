"""The group report: totals are the members' sums, small groups are joined, charts have words."""

import datetime as dt
import io
from decimal import Decimal

import pdfplumber
import pytest

from reports import render
from reports.charts import reach
from reports.group import group_model
from reports.small_groups import disjoint, joined, overlapping
from reports.statement import statement_models

DAY = dt.date(2026, 10, 12)


def minor(text: str) -> int:
    digits = text.replace("USD\u00a0", "").replace(",", "").replace("−", "-")
    return int(Decimal(digits) * 100)


@pytest.fixture(scope="module")
def model(group_season, facts, gate):
    return group_model(group_season, facts, day=DAY, gate=gate)


def test_group_totals_are_the_sums_of_the_statements(group_season, facts, say_flag, model):
    members = list(statement_models(group_season, facts, explain=say_flag))
    for name in ("value", "deducted/levy", "deducted/transport", "paid", "balance"):
        (whole,) = [minor(t["amount"]) for t in model["totals"] if t["code"].endswith(f"/{name}")]
        parts = [
            minor(line["amount"])
            for member in members
            for line in member["money"]
            if line["code"].endswith(f"/{name}")
        ]
        assert len(parts) == 47
        assert sum(parts) == whole, name


def test_stations_and_villages_add_up_to_the_totals(model):
    for column in range(2, 7):
        added = sum(minor(row[column]) for row in model["money"]["rows"])
        assert added == minor(model["money"]["sum"][column])


def test_no_cell_shows_fewer_than_five_members(model):
    assert all(int(row[2]) >= 5 for row in model["money"]["rows"])
    assert "Ketten" not in str(model)
    for table in model["yields"]:
        assert all(int(row[1]) >= 5 for row in table["table"]["rows"])


def test_there_are_five_to_seven_findings(model):
    assert 5 <= len(model["findings"]) <= 7


def test_every_cell_of_every_table_is_in_the_pdf(model):
    data = render.pdf("group", model, day=DAY, subject="group report")
    assert data == render.pdf("group", model, day=DAY, subject="group report")
    with pdfplumber.open(io.BytesIO(data)) as document:
        text = "".join(c["text"] for page in document.pages for c in page.chars)
        first = "".join(c["text"] for c in document.pages[0].chars)
    squeezed = text.replace("\u200b", "").replace(" ", "").replace("\u00a0", "")
    tables = [model["money"], model["flags"], model["coffee"], model["moisture"]["table"]]
    tables += model["weeks"]["tables"] + [y["table"] for y in model["yields"]]
    for table in tables:
        for cell in (cell for row in table["rows"] for cell in row):
            assert cell.replace(" ", "").replace("\u00a0", "") in squeezed
    for finding in model["findings"]:
        assert finding.replace(" ", "").replace("\u00a0", "") in first.replace(" ", "").replace(
            "\u00a0", ""
        )


def test_charts_are_named_and_the_same_each_time(group_season, facts, gate, model):
    again = group_model(group_season, facts, day=DAY, gate=gate)
    assert again == model
    for chart in (model["weeks"], model["moisture"], *model["yields"]):
        assert chart["svg"].startswith("<svg") and chart["alt"]
        assert "<script" not in chart["svg"]
    page = render.page("group", model).decode()
    assert page.count('role="img"') >= 3


def test_a_hostile_village_stays_text_in_chart_and_page(maker, facts, gate):
    for n in range(5):
        maker.member(str(n), "Asha Doreme", "<script>alert(1)</script>")
        maker.trees(str(n), 100 + n)
        maker.weighing(str(n), dt.date(2026, 5, 4), "fresh_cherry", f"{60 + n}.0")
    maker.finish()
    made = group_model(maker.con, facts, day=DAY, gate=gate)
    assert "<script" not in render.page("group", made).decode()
    assert "alert(1)" in made["yields"][0]["svg"]


def test_a_season_without_any_row_is_still_a_report(maker, facts):
    maker.finish()
    made = group_model(maker.con, facts, day=DAY, gate=[])
    assert render.page("group", made)
    assert render.pdf("group", made, day=DAY, subject="group report")


def test_one_far_value_does_not_flatten_the_boxes():
    box = {"lower": Decimal("0.3"), "upper": Decimal("0.5"), "high": Decimal("0.9")}
    assert reach([box]) is None
    assert reach([box, box | {"high": Decimal("18.1")}]) == Decimal("1.1")
    assert reach([box, box | {"high": Decimal("18.1")}], Decimal("12.5")) == Decimal("12.5")


def test_checks_that_hold_are_counted_and_those_that_fail_are_told(model):
    assert model["gate"]["holding"]["rows"] == [["Weight in is weight out", "1"]]
    assert [check["name"] for check in model["gate"]["parts"][0]["checks"]] == ["Share flagged <b>"]


def join(cells):
    return {"members": disjoint(cells), "kg": sum(cell["kg"] for cell in cells), "name": "others"}


@pytest.mark.parametrize(
    ("sizes", "left"),
    [([5, 6], [5, 6]), ([9, 3, 2], [9, 5]), ([9, 6, 2], [9, 8]), ([2], [2]), ([], [])],
)
def test_small_cells_are_joined_until_they_are_enough(sizes, left):
    cells = [{"members": size, "kg": size * 10, "name": str(size)} for size in sizes]
    made = joined(cells, join=join, members=disjoint)
    assert [cell["members"] for cell in made] == left
    assert sum(cell["kg"] for cell in made) == sum(sizes) * 10


def test_cells_that_may_share_members_are_counted_carefully():
    assert overlapping([{"members": 3}, {"members": 4}]) == 4
