"""What sheets say is counted by runs of equal cells, and is what each of their rows says."""

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.counted import spoken_as_written
from pipeline.intake.found import Cells
from pipeline.intake.kinds import kinds
from pipeline.intake.speaks import Spoken, speaking, spoken_by_sheet
from pipeline.intake.type_sheets import type_sheets
from pipeline.season.sheet_text import front_of, text_of_sheets
from pipeline.settings import read_settings
from tests.take.small import SETTINGS

BOOK = read_settings(SETTINGS)
STATIONS = st.sampled_from(["KES", "KES", "kes", " TAR", "T\u200bAR", "n/a", "", None])
DAYS = st.sampled_from(["2026-05-04", "2026-05-04", " 2026-05-05", "04/05/2026", "2026-02-30", ""])
RECORDERS = st.sampled_from(["Lio Tessan", "Lio Tessan", "Ana  Brel", "KES-1", "12", "#N/A", None])
BEYOND = st.sampled_from([None, None, None, None, "x"])
KINDS = st.sampled_from(["weighings", "deliveries", "lots", "plots"])
HEADINGS = ("Station", "Date", "Recorder")
Row = tuple[str | None, ...]
Given = tuple[str, int, list[Row]]


def _cells(columns: int, rows: list[Row]) -> Cells:
    """Return a sheet's cells under the first of its headings."""
    names = ["c0", "c1", "c2", "beyond"]
    frame = pl.DataFrame(rows, schema=dict.fromkeys(names, pl.String), orient="row")
    numbers = pl.int_range(2, pl.len() + 2, dtype=pl.Int32).alias("row_no")
    kept = frame.select(numbers, *names[:columns], "beyond")
    return Cells(HEADINGS[:columns], 1, kept, "fast")


@settings(max_examples=300, deadline=None)
@given(
    sheets=st.lists(
        st.tuples(
            KINDS,
            st.sampled_from([3, 3, 3, 2, 1]),
            st.lists(st.tuples(STATIONS, DAYS, RECORDERS, BEYOND), max_size=6),
        ),
        min_size=1,
        max_size=6,
    )
)
def test_sheets_say_what_their_rows_say(sheets: list[Given]) -> None:
    given = {
        n: (speaking(kinds()[kind]), _cells(columns, rows))
        for n, (kind, columns, rows) in enumerate(sheets)
    }
    told = spoken_as_written(given, BOOK.decimals, {"KES-1"})
    for n, (kind, cells) in given.items():
        text = text_of_sheets(kind, [(n, cells, {})])
        typed = type_sheets(kind, text, {n: front_of(kind, "", cells)}, BOOK)
        whole = text["beyond"].is_null().alias("whole")
        by_rows = spoken_by_sheet(kind, typed.rows.with_columns(whole), {"KES-1"})
        expected = by_rows.get(n, Spoken())
        if n in told:
            assert told[n] == expected
            assert list(told[n].days) == list(expected.days)
            assert typed.unreadable["col"].unique().to_list() in ([], ["station"], ["recorder"])
        else:
            assert typed.unreadable.height


@pytest.mark.parametrize("kind", ["weighings", "deliveries"])
def test_a_run_of_equal_cells_ends_with_its_sheet(kind: str) -> None:
    rows: list[Row] = [("KES", "2026-05-04", "Lio Tessan", None)] * 3
    own = speaking(kinds()[kind])
    told = spoken_as_written({n: (own, _cells(3, rows[n:])) for n in range(3)}, 2, set())
    assert [told[n].stations for n in range(3)] == [{"KES": 3}, {"KES": 2}, {"KES": 1}]
    assert [told[n].height for n in range(3)] == [3, 2, 1]
