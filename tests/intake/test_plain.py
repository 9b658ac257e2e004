"""Columns that are plain need no look at each cell: what they give is what a look would give."""

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.intake.cells import type_rows
from pipeline.intake.kinds import kinds
from pipeline.intake.plain import MANY, plain_columns

WORDS = ["Ñuri Moŋari", "Lio Tessan", "+255 700 111 222", "n/a", "Err:502", "#N/A", "a\ufffd", " a"]
LETTERS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs",)), max_size=12)
CELL = st.one_of(st.none(), st.sampled_from(WORDS), LETTERS, st.just("x" * 501))
NUMBER = st.sampled_from(["12.5", "1.250", "+7", "-0.5", "1e2", "1_000", "", "12,5", ".5", "007"])
CODE = st.sampled_from(["KES", "NONE", "NA", "n/a", "M-1", "kes", " KES", "K\u200bS", "", None])
DAY = st.sampled_from(["2026-05-04", "2026-02-30", "04/05/2026", "2026-5-4"])


def _text(kind: str, cells: dict[str, list[str | None]], height: int) -> pl.DataFrame:
    columns = {c.name: cells.get(c.name, [None] * height) for c in kinds()[kind].columns}
    return pl.DataFrame(
        {"sheet_no": [1] * height, "row_no": range(2, height + 2), **columns, "beyond": None},
        schema_overrides={
            "sheet_no": pl.Int32,
            "row_no": pl.Int32,
            **dict.fromkeys([*columns, "beyond"], pl.String),
        },
    )


@settings(max_examples=300, deadline=None)
@given(rows=st.lists(st.tuples(CELL, NUMBER, DAY, CODE), min_size=1, max_size=3))
def test_a_plain_column_is_typed_as_when_each_cell_is_looked_at(
    rows: list[tuple[str | None, str, str, str | None]],
) -> None:
    kind = kinds()["payments"]
    words, numbers, days, codes = (list(column) for column in zip(*rows, strict=True))
    cells = {"paid_by": words, "amount": numbers, "day": days, "station": codes}
    text = _text("payments", cells, len(rows))
    known = plain_columns(kind, text, 2)
    quickly, closely = (type_rows(kind, text, 2, some) for some in (known, set[str]()))
    assert quickly.rows.equals(closely.rows), known
    order = ["row_no", "col", "reason"]
    assert quickly.unreadable.sort(order).equals(closely.unreadable.sort(order)), known


def test_common_words_are_plain() -> None:
    """Without this, to look at each cell would pass for the same."""
    text = _text("payments", {"paid_by": ["Ñuri Moŋari", "Station KES (day 2)", None]}, 3)
    assert "paid_by" in plain_columns(kinds()["payments"], text, 2)


def test_one_odd_cell_among_many_alike_makes_a_column_not_plain() -> None:
    height = 2 * MANY
    days: list[str | None] = ["2026-05-04"] * height
    kind = kinds()["payments"]
    assert "day" in plain_columns(kind, _text("payments", {"day": days}, height), 2)
    days[height - 7] = "04/05/2026"
    assert "day" not in plain_columns(kind, _text("payments", {"day": days}, height), 2)


def test_a_cell_that_recurs_is_judged_as_each_by_itself() -> None:
    """In many rows each distinct cell is judged once; in few, each cell."""
    kind = kinds()["lots"]
    cells: dict[str, list[str | None]] = {
        "station": ["KES", " kes", "NONE", None, "", "K\u200bS", "ARD"],
        "form": ["Dry cherry", "dry_cherry", "green", "grren", None, "", " parchment "],
        "begun_at": ["08:00", "8:05:00", "25:00", "noon", None, "", " 09:10"],
        "day": ["2026-05-04", "2026-02-30", "04/05/2026", None, "", " 2026-05-04", "x"],
        "kg_in": ["12.5", "1.250", "1e2", None, "", " 7", "12,5"],
    }
    few = _text("lots", cells, 7)
    times = MANY // 7 + 1
    once, often = (type_rows(kind, text, 2) for text in (few, pl.concat([few] * times)))
    assert often.rows.equals(pl.concat([once.rows] * times))
    assert once.unreadable.height > 10
    order = ["row_no", "col"]
    assert often.unreadable.unique().sort(order).equals(once.unreadable.sort(order))
    assert often.unreadable.height == times * once.unreadable.height
