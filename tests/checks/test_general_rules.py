"""The rules that every kind has: each finds its fault in every kind it says it looks at."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from checks.rules import BY_CODE
from checks.views import view_sql
from pipeline.book.book import Book, new_book, now
from pipeline.intake.kinds import Kind, kinds
from pipeline.intake.template import Row, examples, template_csv
from pipeline.queue import season_flags
from pipeline.samples.place import sample_inputs
from pipeline.take import take
from pipeline.taken import Taken

Rows = list[dict[str, str]]


def _book(folder: Path) -> Book:
    return new_book(folder / "book", (sample_inputs() / "book.toml").read_text("utf-8"), now())


def _take(book: Book, sheets: dict[str, bytes], folder: Path) -> list[Taken]:
    for name, content in sheets.items():
        (folder / name).write_bytes(content)
    return take(book, [folder / name for name in sheets], by="test", day=date(2026, 7, 1))


def _with(column: str, value: str) -> Callable[[Kind], Rows]:
    return lambda kind: [{**examples(kind), column: value}]


def _unreadable(kind: Kind) -> Rows:
    column = next(c for c in kind.columns if c.type in ("date", "choice", "integer"))
    return [{**examples(kind), column.name: "12.5.3"}]


def _to_come(kind: Kind) -> Rows:
    column = next(c for c in kind.columns if c.past)
    return [{**examples(kind), column.name: "2026-09-01" if column.type == "date" else "2031"}]


def _missing(kind: Kind) -> Rows:
    # Not one that tells sheets apart: a sheet that names no station at all is asked about first.
    needed = [c.name for c in kind.columns if c.required and c.name not in kind.slot]
    return [{**examples(kind), needed[0]: ""}]


def _twice(kind: Kind) -> Rows:
    return [dict(examples(kind)), dict(examples(kind))]


@pytest.mark.parametrize(
    ("code", "faulty"),
    [
        ("unreadable-cell", _unreadable),
        ("missing-cell", _missing),
        ("outside-season", _with("day", "2025-05-04")),
        ("in-the-future", _to_come),
        ("unknown-station", _with("station", "XXX")),
        ("unknown-member", _with("member_no", "1042")),
        ("listed-twice", _twice),
        ("key-used-twice", _twice),
    ],
)
def test_a_general_rule_finds_its_fault_in_every_kind_and_no_other(
    code: str, faulty: Callable[[Kind], Rows], tmp_path: Path
) -> None:
    on = set(BY_CODE[code].on)
    assert len(on) > 3
    book = _book(tmp_path)
    good = {
        f"good_{n}.csv": template_csv(kinds()[n], "en", [examples(kinds()[n])])
        for n in ("members",)
    }
    sheets = {
        f"{n}_2026-W19.csv": template_csv(kinds()[n], "en", faulty(kinds()[n])) for n in sorted(on)
    }
    _take(book, good | sheets, tmp_path)
    found = [flag for _, flag in season_flags(book) if flag.rule == code]
    assert {flag.kind for flag in found} == on
    assert {flag.sheet for flag in found} <= set(sheets)
    assert len(found) == len(on)


def test_a_heading_that_lacks_is_said_once_in_every_kind(tmp_path: Path) -> None:
    book = _book(tmp_path)
    sheets: dict[str, bytes] = {}
    for name, kind in kinds().items():
        lacking = next(c for c in reversed(kind.columns) if c.required)
        kept = [column for column in kind.columns if column is not lacking]
        lines = [[c.heading() for c in kept], [c.example.replace(",", "") for c in kept]]
        sheets[f"{name}_2026-W19.csv"] = "\n".join(",".join(line) for line in lines).encode()
    taken = _take(book, sheets, tmp_path)
    assert [(sheet.kind, sheet.sent_back) for sheet in taken] == [(name, 1) for name in kinds()]
    found = [flag.kind for _, flag in season_flags(book) if flag.rule == "missing-column"]
    assert sorted(found) == sorted(kinds())


def test_a_row_gone_from_a_later_version_is_noted_in_every_kind_that_replaces(
    tmp_path: Path,
) -> None:
    on = set(BY_CODE["gone-from-later-version"].on)
    assert on == {name for name, kind in kinds().items() if kind.later_sheet == "replaces"}
    book = _book(tmp_path)
    for version in ("first", "second"):
        sheets = {
            f"{name}_2026-W19_{version}.csv": template_csv(
                kinds()[name], "en", [examples(kinds()[name])][: 1 if version == "first" else 0]
            )
            for name in sorted(on)
        }
        # A version without rows names no station and no recorder: it keeps one other row.
        if version == "second":
            sheets = {n: _other(kinds()[n.split("_2026")[0]]) for n in sheets}
        _take(book, sheets, tmp_path)
    found = {flag.kind for _, flag in season_flags(book) if flag.rule == "gone-from-later-version"}
    assert found == on


def _other(kind: Kind) -> bytes:
    """A sheet of the same slot whose one row is named otherwise."""
    named = [kind.column(name) for name in kind.key] or list(kind.columns)
    column = next(
        c for c in named if c.type in ("integer", "code", "text") and c.name not in kind.slot
    )
    row: Row = {**examples(kind), column.name: "9"}
    return template_csv(kind, "en", [row])


def test_overlapping_bank_statements_count_a_line_once(tmp_path: Path) -> None:
    kind = kinds()["bank_lines"]
    lines = [{**examples(kind), "reference": f"TX-{n}", "balance": f"{n}00.00"} for n in range(3)]
    book = _book(tmp_path)
    members = template_csv(kinds()["members"], "en", [examples(kinds()["members"])])
    _take(book, {"members.csv": members}, tmp_path)
    _take(book, {"april.csv": template_csv(kind, "en", lines[:2])}, tmp_path)
    taken = _take(book, {"may.csv": template_csv(kind, "en", lines[1:])}, tmp_path)
    again = _take(book, {"april.csv": template_csv(kind, "en", lines[:2])}, tmp_path)
    assert (taken[0].counted, again[0].counted, again[0].replaced) == (2, 1, 1)


def test_an_answer_takes_the_place_of_its_question(tmp_path: Path) -> None:
    kind = kinds()["questions"]
    book = _book(tmp_path)
    asked = {**examples(kind), "answer": "", "answered_on": ""}
    members = template_csv(kinds()["members"], "en", [examples(kinds()["members"])])
    _take(book, {"members.csv": members, "asked.csv": template_csv(kind, "en", [asked])}, tmp_path)
    taken = _take(book, {"answered.csv": template_csv(kind, "en", [examples(kind)])}, tmp_path)
    assert (taken[0].counted, taken[0].held) == (1, 0)
    asked_again = _take(book, {"asked.csv": template_csv(kind, "en", [asked])}, tmp_path)
    assert asked_again[0].replaced == 1


def test_kinds_without_a_view_of_their_own_get_the_general_one() -> None:
    text = view_sql("sales")
    assert "from live_sales as r" in text and "$" not in text.split("create", 1)[1]
    assert "m.member_no = cast(null as varchar)" in text and "r.amount_minor" in text
    assert "in_service_error_kg" in view_sql("weighings")
