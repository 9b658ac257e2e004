"""What `weighbook matches` shows of a small book."""

import json
from collections.abc import Callable
from pathlib import Path

from click.testing import Result

from pipeline.book.book import Book
from reports.query import rows as report_rows
from tests.take.small import ASHA, SETTINGS, made, registers, sheet, taken

Run = Callable[..., Result]


def _book(folder: Path) -> Book:
    book = made(folder / "book", SETTINGS)
    wrote = [
        {"receipt_book": "K01", "receipt_no": "1", "kg": "58.5"},
        {"receipt_book": "K01", "receipt_no": "777", "kg": "20.0", "day": "2026-05-06"},
    ]
    taken(
        book,
        *registers(folder),
        sheet(
            folder,
            "w_2026-W19.csv",
            "weighings",
            [{"receipt_no": "1"}, {"receipt_no": "2", "net_kg": "45.0", "gross_kg": "46.2"}],
        ),
        sheet(folder, "d_2026-W19.csv", "deliveries", wrote),
    )
    return book


def test_pairs_say_why_and_how_far_and_the_rest_what_is_near(run: Run, tmp_path: Path) -> None:
    book = _book(tmp_path)
    told = run("matches", book.path, "--station", "KES", "--week", "2026-W19", "--json")
    assert told.exit_code == 0, told.output
    found = json.loads(told.stdout)
    (pair,) = found["pairs"]
    assert (pair["why"], pair["kg_apart"], pair["pct_apart"]) == ("receipt", "-1.500", "-2.5")
    assert [(row["side"], row["row_no"]) for row in found["alone"]] == [
        ("record", 3),
        ("weighing", 3),
    ]
    assert found["alone"][0]["nearest"][0]["receipt_no"] == 2
    shown = run("matches", book.path)
    assert "1 records matched with the scale" in shown.stdout
    assert "KES K01 1" in shown.stdout and "-1.5" in shown.stdout
    assert run("matches", book.path, "--week", "2026-W20").stdout.startswith("No member's record")


def test_a_wrong_station_or_week_is_refused_in_a_sentence(run: Run, filled: Book) -> None:
    assert "It declares: " in run("matches", filled.path, "--station", "KEX").stderr
    assert run("matches", filled.path, "--week", "19").exit_code == 2


def test_a_statement_has_the_record_beside_the_line_it_differs_from(tmp_path: Path) -> None:
    from pipeline.season.generations import must_have
    from pipeline.season.tables import connect

    with connect(str(must_have(_book(tmp_path), "2026"))) as con:
        lines = report_rows(con, "statement_lines", members=[ASHA])
    beside = [(line["receipt_no"], str(line["record_kg"])) for line in lines]
    assert beside == [(1, "58.500"), (2, "None")]
