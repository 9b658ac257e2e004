"""Blank sheets: the same bytes each time, and taken as they are when filled in."""

import io
import re
import zipfile
from datetime import date
from pathlib import Path

import fastexcel
import polars as pl
import pytest
from click.testing import CliRunner

from pipeline.book.book import Book, new_book, now
from pipeline.cli.main import cli
from pipeline.intake.kinds import LANGUAGES, Kind, choices, kinds, normal_word, template_words
from pipeline.intake.template import (
    NUMBER_FORMATS,
    examples,
    note,
    template_csv,
    write_template,
)
from pipeline.queue import season_flags
from pipeline.samples.place import sample_inputs
from pipeline.take import take
from pipeline.taken import Taken

KINDS = [pytest.param(kind, id=name) for name, kind in kinds().items()]


def _book(folder: Path) -> Book:
    return new_book(folder / "book", (sample_inputs() / "book.toml").read_text("utf-8"), now())


def _take_all(folder: Path, contents: dict[str, bytes]) -> tuple[Book, list[Taken]]:
    paths = [folder / name for name in contents]
    for path, content in zip(paths, contents.values(), strict=True):
        path.write_bytes(content)
    book = _book(folder)
    return book, take(book, paths, by="test", day=date(2026, 10, 4))


@pytest.mark.parametrize(
    ("language", "form"),
    [
        ("en", "xlsx"),
        ("fr", "csv"),
        *(
            pytest.param(language, form, marks=pytest.mark.long)
            for language, form in (("es", "csv"), ("pt", "xlsx"), ("sw", "csv"))
        ),
    ],
)
def test_templates_filled_with_their_examples_are_taken(
    language: str, form: str, tmp_path: Path
) -> None:
    contents: dict[str, bytes] = {}
    for name, kind in kinds().items():
        row = examples(kind, language)
        if form == "csv":
            contents[f"{name}.csv"] = template_csv(kind, language, [row])
        else:
            filled = tmp_path / f"{name}.xlsx"
            write_template(filled, kind, language, [row])
            contents[filled.name] = filled.read_bytes()
    book, taken = _take_all(tmp_path, contents)
    assert [sheet.kind for sheet in taken] == list(kinds())
    for sheet in taken:
        if sheet.kind == "second_payments":
            # Read like any other, and counted only where two people post it.
            assert (sheet.arrived, sheet.sent_back, sheet.message) == (1, 1, ""), sheet
            continue
        assert (sheet.arrived, sheet.counted + sheet.held, sheet.message) == (1, 1, ""), sheet
    held = {flag.rule for _, flag in season_flags(book) if flag.severity == "hold"}
    # The declared examples do not belong together: no coffee came in for the lot that is sold.
    apart = {"lot-from-nothing", "sold-more-than-stock", "counted-what-was-not-there"}
    assert held <= {"unknown-member", "member-number-check"} | apart, held


def test_empty_templates_are_known_and_hold_no_row(tmp_path: Path) -> None:
    blank = {f"{name} 2026-W20.csv": template_csv(kind) for name, kind in kinds().items()}
    _, taken = _take_all(tmp_path, blank)
    # A sheet without rows names no station, so where stations send their own it has to be said.
    asked = [name for name, kind in kinds().items() if "station" in kind.slot]
    assert len(asked) > 3
    for name, sheet in zip(kinds(), taken, strict=True):
        assert sheet.arrived == 0
        # A sheet that waits for an answer has not been read as one of its kind yet.
        assert [note["code"] for note in sheet.notes] == (["no-rows"] if sheet.kind else [])
        if name in asked:
            assert (sheet.status, sheet.kind, sheet.question) == ("kept", "", "station")
            assert sheet.answers == ("KES", "ARD", "MUN", "PAR")
            assert sheet.message == (
                "It cannot be told which station recorded this sheet: it names none. "
                "Send it again with --station KES, or another of KES, ARD, MUN, PAR."
            )
        else:
            assert (sheet.status, sheet.kind, sheet.message) == ("taken", name, "")


@pytest.mark.parametrize(
    ("kind", "language"),
    [
        pytest.param(kind, LANGUAGES[n % len(LANGUAGES)], id=name)
        for n, (name, kind) in enumerate(kinds().items())
    ],
)
def test_a_workbook_has_the_same_bytes_each_time(kind: Kind, language: str, tmp_path: Path) -> None:
    first, second = tmp_path / "first.xlsx", tmp_path / "second.xlsx"
    write_template(first, kind, language)
    write_template(second, kind, language)
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("kind", KINDS)
def test_a_workbook_offers_the_words_of_its_language(
    kind: Kind, language: str, tmp_path: Path
) -> None:
    path = tmp_path / "sheet.xlsx"
    write_template(path, kind, language)
    reader = fastexcel.read_excel(path)
    words = template_words(language)
    assert reader.sheet_names == [words["sheet"], words["how"]]
    lists = reader.load_sheet(1, header_row=None, skip_rows=2, dtypes="string").to_polars()
    shown = {
        column[0]: [cell for cell in column[1:] if cell] for column in map(pl.Series.to_list, lists)
    }
    chosen = [column for column in kind.columns if column.choices]
    page = zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml").decode()
    assert page.count('<dataValidation type="list"') == len(chosen)
    assert '<pane ySplit="1"' in page
    ranges = re.findall(r"<formula1>'([^']+)'!\$([A-Z]+)\$(\d+):\$([A-Z]+)\$(\d+)</formula1>", page)
    for column, (sheet, left, first, right, last) in zip(chosen, ranges, strict=True):
        assert (sheet, left, int(first)) == (words["how"], right, 4)
        assert int(last) - int(first) + 1 == len(column.words())
        place = ord(left) - ord("A")
        assert lists.to_series(place)[0] == column.heading(language)
        offered = shown[column.heading(language)]
        assert offered == list(column.words(language).values())
        assert [choices(column.choices)[normal_word(word)] for word in offered] == list(
            column.words()
        )


def test_a_workbook_takes_no_figure_that_its_column_cannot_hold(tmp_path: Path) -> None:
    path = tmp_path / "sheet.xlsx"
    write_template(path, kinds()["visits"])
    page = zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml").decode()
    ph = kinds()["visits"].columns.index(kinds()["visits"].column("soil_ph"))
    found = re.findall(
        r'<dataValidation type="decimal"[^>]*sqref="([A-Z])2:[^>]*>'
        r"<formula1>([^<]*)</formula1><formula2>([^<]*)</formula2>",
        page,
    )
    assert found == [(chr(ord("A") + ph), "0.0", "14.0")]
    assert 'type="whole" operator="greaterThanOrEqual"' in page
    write_template(path, kinds()["prices"])
    page = zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml").decode()
    assert 'type="decimal" operator="greaterThan"' in page


@pytest.mark.parametrize("kind", KINDS)
def test_every_heading_carries_a_note_and_every_column_a_format(kind: Kind, tmp_path: Path) -> None:
    path = tmp_path / "sheet.xlsx"
    write_template(path, kind, "pt")
    files = zipfile.ZipFile(path)
    notes = files.read("xl/comments1.xml").decode()
    assert notes.count("<comment ") == len(kind.columns)
    for column in kind.columns:
        words = note(column, "pt")
        assert column.about in words and column.example_in("pt") in words
    styles = files.read("xl/styles.xml").decode()
    for form in {NUMBER_FORMATS.get(column.type, "@") for column in kind.columns}:
        # "@", "0" and "0.00" are built into spreadsheets and go by number.
        assert form in {"@", "0", "0.00"} or f'formatCode="{form}"' in styles, form


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    kind = kinds()["questions"]
    path = tmp_path / "sheet.xlsx"
    write_template(path, kind, "en", [{**examples(kind), "question": "=1+1", "day": "31/02/2026"}])
    page = zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml").decode()
    assert "<f>" not in page
    cells = fastexcel.read_excel(path).load_sheet(0, dtypes="string").to_polars()
    assert cells["Question"].to_list() == ["=1+1"] and cells["Date"].to_list() == ["31/02/2026"]


def _run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(cli, list(words))
    return result.exit_code, result.output


def test_the_commands_list_and_write(tmp_path: Path) -> None:
    import json

    code, out = _run("kinds", "--json")
    assert code == 0
    listed = json.loads(out)
    assert [kind["name"] for kind in listed] == list(kinds())
    assert all(kind["columns"] for kind in listed)
    assert [kind["name"] for kind in json.loads(_run("kinds", "plots", "--json")[1])] == ["plots"]
    assert json.loads(_run("kinds", "plots", "--schema")[1])["primaryKey"]
    assert len(json.loads(_run("kinds", "--schema")[1])["resources"]) == len(kinds())
    assert "receipt_books" in _run("kinds")[1]
    assert "Gross kg" in _run("kinds", "weighings")[1]
    assert _run("kinds", "weighing")[0] == 2

    sheet = tmp_path / "livraisons.csv"
    code, out = _run("template", "deliveries", "--language", "fr", "--out", str(sheet))
    assert (code, str(sheet) in out) == (0, True)
    assert sheet.read_bytes() == template_csv(kinds()["deliveries"], "fr")
    # A sheet that is there may be half filled in.
    assert _run("template", "deliveries", "--out", str(sheet))[0] == 2
    book = tmp_path / "pesagens.xlsx"
    assert _run("template", "weighings", "--language", "pt", "--out", str(book))[0] == 0
    assert fastexcel.read_excel(io.BytesIO(book.read_bytes()).getvalue()).sheet_names[0] == "Folha"
