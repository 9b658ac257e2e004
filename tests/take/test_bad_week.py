"""The sample season and its bad week: every planted fault gets what the list says, and no more."""

import csv
import re
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from pipeline.book.book import Book, kept_settings
from pipeline.coop import coop_facts
from pipeline.explain.explained import explain_in
from pipeline.queue import season_flags
from pipeline.samples.place import sample_inputs
from pipeline.season.generations import must_have
from pipeline.season.schema import STATES
from pipeline.season.tables import connect
from pipeline.taken import Taken
from pipeline.verify import verify
from reports.group_figures import figure_sections
from reports.statement import voice
from tests.take.small import WORKED_OUT, ask, made, tables, taken

SAMPLES = sample_inputs()
MONDAY = date(2026, 10, 5)


@dataclass(frozen=True)
class Sample:
    book: Book
    season: list[Taken]
    bad_week: dict[str, Taken]


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> Sample:
    settings = (SAMPLES / "book.toml").read_text("utf-8")
    book = made(tmp_path_factory.mktemp("sample") / "book", settings)
    season = taken(book, *sorted((SAMPLES / "season").rglob("*.csv")), day=date(2026, 10, 4))
    bad_week = taken(book, *sorted((SAMPLES / "bad_week").iterdir()), day=MONDAY)
    return Sample(book, season, {sheet.sheet: sheet for sheet in bad_week})


def expected() -> Iterator[dict[str, str]]:
    with (SAMPLES / "bad_week_expected.csv").open(encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file):
            yield line | {"sheet": Path(line["file"]).name}


@pytest.fixture(scope="module")
def states(sample: Sample) -> dict[tuple[str, int], str]:
    """The state of every row, by sheet and row."""
    found: dict[tuple[str, int], str] = {}
    for (kind,) in ask(sample.book, "select distinct kind from sheets where kind is not null"):
        for name, row, state in ask(
            sample.book,
            f"select s.name, r.row_no, r.state from {kind} r join sheets s using (sheet_no)",
        ):
            found[name, row] = state
    return found


def test_every_row_of_the_season_counts(sample: Sample) -> None:
    assert len(sample.season) == len(list((SAMPLES / "season").rglob("*.csv"))) > 100
    assert all(sheet.counted == sheet.arrived > 0 for sheet in sample.season)


ROWS = [line for line in expected() if line["row"]]
SHEETS = [line for line in expected() if not line["row"]]
# Trees too many for the land, or too few for the coffee: the flag may point at the other cell.
POINTS_ELSEWHERE = {"density-off-species", "yield-above-ceiling"}


@pytest.mark.parametrize("line", ROWS, ids=lambda line: f"{line['sheet']}-{line['row']}")
def test_a_planted_row_gets_its_outcome_and_rule(
    line: dict[str, str], sample: Sample, states: dict[tuple[str, int], str]
) -> None:
    place = (line["sheet"], int(line["row"]))
    assert states[place] == {"noted": "counted"}.get(line["outcome"], line["outcome"])
    found = {
        flag.rule: flag for _, flag in season_flags(sample.book) if (flag.sheet, flag.row) == place
    }
    if line["rule"]:
        assert line["rule"] in found
        assert (
            found[line["rule"]].severity
            == {
                "noted": "note",
                "held": "hold",
                "sent_back": "send_back",
            }[line["outcome"]]
        )
        if line["rule"] not in POINTS_ELSEWHERE:
            assert found[line["rule"]].heading == line["column"]


@pytest.mark.parametrize("line", SHEETS, ids=lambda line: line["sheet"])
def test_a_planted_sheet_is_kept_and_none_of_it_counts(
    line: dict[str, str], sample: Sample
) -> None:
    sheet = sample.bad_week[line["sheet"]]
    assert sheet.sent_back == sheet.arrived
    assert sheet.message
    if line["column"]:
        assert line["column"] in sheet.message
    assert ("picture" in sheet.message) == (line["outcome"] == "to_be_typed")
    content = (SAMPLES / line["file"]).read_bytes()
    sha256 = ask(sample.book, "select sha256 from sheets where name = ?", line["sheet"])[0][0]
    assert sample.book.sheet(sha256) == content


def test_no_row_waits_that_nobody_planted(
    sample: Sample, states: dict[tuple[str, int], str]
) -> None:
    whole = {line["sheet"] for line in SHEETS}
    planted = {
        (line["sheet"], int(line["row"]))
        for line in ROWS
        if line["outcome"] in ("held", "sent_back")
    }
    waiting = {
        place
        for place, state in states.items()
        if state in ("held", "sent_back") and place[0] not in whole
    }
    assert waiting == planted


def test_rows_are_conserved_in_every_sheet_and_in_all(sample: Sample) -> None:
    sums: dict[str, int] = defaultdict(int)
    for sheet in sample.season + list(sample.bad_week.values()):
        # What a season's sheet said when it was taken may since have been replaced.
        assert sheet.arrived == sum(getattr(sheet, state) for state in STATES)
    for name, arrived, *in_states in ask(
        sample.book, f"select name, arrived, {', '.join(STATES)} from sheet_states"
    ):
        assert arrived == sum(in_states), name
        for state, count in zip(STATES, in_states, strict=True):
            sums[state] += count
    read = sum(
        len(path.read_text("utf-8").splitlines()) - 1
        for path in SAMPLES.rglob("*.csv")
        if path.parent != SAMPLES and path.stat().st_size
    )
    assert sum(sums.values()) == read
    assert all(sums[state] for state in STATES if state != "left_out")


def test_the_same_sheets_again_change_nothing(sample: Sample) -> None:
    before = tables(sample.book, *WORKED_OUT, "flags", "exceptions", "sheets")
    journal = (sample.book.path / "journal.jsonl").read_bytes()
    files = sorted(path.name for path in sample.book.seasons.iterdir())
    again = taken(sample.book, *sorted((SAMPLES / "bad_week").iterdir()), day=MONDAY)
    assert {sheet.status for sheet in again} == {"known"}
    assert [(sheet.arrived, sheet.counted) for sheet in again] == [
        (sheet.arrived, sheet.counted) for sheet in sample.bad_week.values()
    ]
    assert (sample.book.path / "journal.jsonl").read_bytes() == journal
    assert sorted(path.name for path in sample.book.seasons.iterdir()) == files
    assert tables(sample.book, *WORKED_OUT, "flags", "exceptions", "sheets") == before


def test_every_promise_holds_and_the_season_worked_out_anew_is_the_same(sample: Sample) -> None:
    proof = verify(sample.book)
    assert proof["ok"], proof
    assert proof["promises"]["same_in_same_out 2026"]["tables"] > 15
    assert proof["promises"]["nothing_twice 2026"]["receipt_lines_counted"] > 4000


def test_every_code_of_the_group_reports_figures_is_explained_by_members_and_rows(
    sample: Sample,
) -> None:
    """Quartiles are worked out again, by numpy, from the members that a figure names."""
    settings = kept_settings(sample.book.journal())
    with connect(str(must_have(sample.book, "2026")), macros=True) as con:
        said = voice("en", coop_facts(settings, "2026"))
        printed = repr(figure_sections(said, con))
        codes = set(re.findall(r"2026/group/[^'\")]+", printed))
        kinds = {code.split("/")[2] for code in codes}
        assert kinds >= {"yield", "margin", "in", "out", "village", "since", "crop", "next_crop"}
        for code in sorted(codes):
            found = explain_in(con, settings, lambda _sha, _part: None, code)
            assert found["rows"] or found["parts"], code
            amounts = [row["amount"].replace(",", "") for row in found["rows"]]
            kind = code.split("/")[2]
            if kind in ("in", "out"):
                whole = Decimal(found["value"].replace(",", ""))
                assert sum(map(Decimal, amounts)) == whole, code
            elif kind == "yield":
                quartiles = np.quantile([float(kg) for kg in amounts], [0.25, 0.5, 0.75])
                told = [float(kg) for kg in found["value"].split(", ")]
                assert np.allclose(told, quartiles, atol=0.0011), code
            elif kind in ("village", "since"):
                parts = [Decimal(part["value"].replace(",", "")) for part in found["parts"]]
                assert sum(parts) == Decimal(found["value"].replace(",", "")), code
