"""The group report: totals are the members' sums, small groups are joined, charts have words."""

import datetime as dt
import io
from decimal import Decimal

import outloud
import pdfplumber
import pytest

from reports import render
from reports.charts import reach
from reports.group import group_model
from reports.small_groups import disjoint, joined, overlapping
from reports.statement import statement_models

DAY = dt.date(2026, 10, 12)


def section(model, key):
    (found,) = [one for one in (model["totals"], *model["sections"]) if one["key"] == key]
    return found


def tables(model, key):
    return [p["table"] for p in section(model, key)["parts"] if p["table"]]


def drawn(model, *keys):
    return [p for key in keys for p in section(model, key)["parts"] if p["svg"]]


def minor(text: str) -> int:
    digits = text.replace("USD\u00a0", "").replace(",", "").replace("−", "-")
    return int(Decimal(digits) * 100)


@pytest.fixture(scope="module")
def model(group_season, facts, gate):
    return group_model(group_season, facts, day=DAY, gate=gate)


def test_group_totals_are_the_sums_of_the_statements(group_season, facts, say_flag, model):
    members = list(statement_models(group_season, facts, explain=say_flag))
    for name in ("value", "deducted/levy", "deducted/transport", "paid", "balance"):
        (whole,) = [
            minor(t["amount"])
            for t in section(model, "totals")["lines"]
            if t["code"].endswith(f"/{name}")
        ]
        parts = [
            minor(line["amount"])
            for member in members
            for line in member["money"]
            if line["code"].endswith(f"/{name}")
        ]
        assert len(parts) == 47
        assert sum(parts) == whole, name


def test_stations_and_villages_add_up_to_the_totals(model):
    (money,) = tables(model, "money")
    for column in range(2, 7):
        added = sum(minor(row[column]) for row in money["rows"])
        assert added == minor(money["sum"][column])


def test_no_cell_shows_fewer_than_five_members(model):
    (money,) = tables(model, "money")
    assert all(int(row[2]) >= 5 for row in money["rows"])
    assert "Ketten" not in str(model)
    for table in tables(model, "yields"):
        assert all(int(row[1]) >= 5 for row in table["rows"])


def test_there_are_five_to_seven_findings(model):
    assert 5 <= len(model["findings"]) <= 7


def test_every_cell_of_every_table_is_in_the_pdf(model):
    data = render.pdf("group", model, day=DAY, subject="group report")
    assert data == render.pdf("group", model, day=DAY, subject="group report")
    with pdfplumber.open(io.BytesIO(data)) as document:
        text = "".join(c["text"] for page in document.pages for c in page.chars)
        first = "".join(c["text"] for c in document.pages[0].chars)
    squeezed = text.replace("\u200b", "").replace(" ", "").replace("\u00a0", "")
    told = [t for one in model["sections"] for t in tables(model, one["key"])]
    assert len(told) >= 7
    for table in told:
        for cell in (cell for row in [*table["rows"], table["sum"]] for cell in row):
            cell = cell if isinstance(cell, str) else cell["text"]
            assert cell.replace(" ", "").replace("\u00a0", "") in squeezed
    for finding in model["findings"]:
        assert finding.replace(" ", "").replace("\u00a0", "") in first.replace(" ", "").replace(
            "\u00a0", ""
        )


def test_a_checker_that_is_not_ours_finds_nothing_against_pdf_ua(model, tmp_path):
    """ISO 14289-1 (PDF/UA-1) by the rules of the Matterhorn protocol, as `outloud` runs them."""
    path = tmp_path / "group.pdf"
    path.write_bytes(render.pdf("group", model, day=DAY, subject="group report"))
    found = outloud.check(str(path), layers=["conformance"])
    wrong = [f"{one.rule}: {one.message}" for one in found.findings if one.severity == "error"]
    assert (found.error, wrong) == (None, [])


def test_charts_are_named_and_the_same_each_time(group_season, facts, gate, model):
    again = group_model(group_season, facts, day=DAY, gate=gate)
    assert again == model
    charts = drawn(model, "weeks", "moisture", "yields")
    assert len(charts) == 3
    for chart in charts:
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
    assert "alert(1)" in drawn(made, "yields")[0]["svg"]


def test_each_lot_is_a_tick_and_stations_add_up_what_it_gave(maker, facts, gate):
    for lot, kg_in, kg_out in (("K-1", 100, 40), ("K-2", 300, 117), ("K-3", 50, 30)):
        maker.con.execute(
            "insert into lot_steps (lot_no, seq, line, steps, station, begun_on, day, species, "
            "form_before, form_after, in_g, out_g, low_g, high_g, loss_g, water_g, parts_g, "
            "sorted_g, handling_g, gain_g, opens, wets, dries, waits, sheet_no, row_no) values "
            "(?, 1, 1, 'pulping', 'KES', '2026-05-04', '2026-05-04', 'arabica', 'fresh_cherry', "
            "'parchment', ?, ?, ?, ?, 500, 0, 0, 0, 0, 0, true, true, false, false, 5, 2)",
            [lot, kg_in * 1000, kg_out * 1000, kg_in * 290, kg_in * 490],
        )
    maker.finish()
    made = group_model(maker.con, facts, day=DAY, gate=gate)
    (table,) = tables(made, "outturn")
    assert table["rows"] == [
        ["Kessim", "3", "450.0", "187.0", "39.0", "41.6", "60.0", "0", "1.5"]
    ]  # 187 of 450 kg is 41.56 %
    (chart,) = drawn(made, "outturn")
    assert "29.0 to 49.0" in chart["svg"]


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
    failing, holding = tables(model, "gate")
    assert holding["rows"] == [["Weight in is weight out", "1"]]
    assert [row[0]["text"] for row in failing["rows"]] == ["Share flagged <b>"]


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
