"""Kept sheets are remembered packed, and come back as they were read."""

from pathlib import Path

import pytest

from pipeline.book.book import kept_settings
from pipeline.explain import sheets
from pipeline.explain.sheets import SheetReader
from pipeline.intake.read import read_cells
from pipeline.season.kept_sheets import kept_sheets
from tests.take.small import SETTINGS, made, registers, sheet, taken


def test_a_sheet_comes_back_as_it_was_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = made(tmp_path / "book", SETTINGS)
    weighed = [{"receipt_no": str(n), "brought_by": "Zoë, “two” bags" * (n % 2)} for n in range(40)]
    taken(book, *registers(tmp_path), sheet(tmp_path, "w_2026-W19.csv", "weighings", weighed))
    journal = book.journal()
    settings = kept_settings(journal)
    places = [(one.entry["sha256"], one.part) for one in kept_sheets(journal)]
    read = [
        read_cells(book.sheet(sha256), part, settings.intake.lifted()) for sha256, part in places
    ]
    # So that each look but the first unpacks.
    monkeypatch.setattr(sheets, "OPEN", 1)
    reader = SheetReader(book)
    for _ in range(3):
        for (sha256, part), first in zip(places, read, strict=True):
            found = reader.cells(sha256, part, settings)
            assert found is not None
            assert found.frame.equals(first.frame)
            assert found.frame.schema == first.frame.schema
            assert (found.headings, found.notes, found.titles) == (
                first.headings,
                first.notes,
                first.titles,
            )
    assert not reader.full
    # Beyond its room the reader forgets what was looked at first, and reads it anew.
    monkeypatch.setattr(sheets, "KEPT_BYTES", 1)
    again = SheetReader(book)
    for (sha256, part), first in zip(places, read, strict=True):
        found = again.cells(sha256, part, settings)
        assert found is not None and found.frame.equals(first.frame)
    assert again.full
