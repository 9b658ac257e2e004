"""The season flow against a real Prefect server: it runs, retries where that helps, and reports."""

import json
from datetime import date
from pathlib import Path

import pytest

from pipeline.book.book import Book, new_book, open_book, writing
from pipeline.samples.place import sample_inputs
from pipeline.verify import verify

pytestmark = pytest.mark.slow


@pytest.fixture
def book(tmp_path: Path) -> Book:
    settings = (sample_inputs() / "book.toml").read_text("utf-8")
    return new_book(tmp_path / "book", settings, "2026-03-30T06:00:00Z")


def _sheets() -> list[Path]:
    season = sample_inputs() / "season"
    return [*sorted((season / "register").iterdir()), *sorted((season / "2026-W14").iterdir())]


def test_flow_takes_and_issues(prefect_server: None, book: Book) -> None:
    from prefect.client.orchestration import get_client

    from pipeline.flows.season import season_flow

    done = season_flow(book.path, _sheets(), "2026", date(2026, 4, 6))
    assert done["statements"] == 240
    assert (Path(str(done["folder"])) / "index.html").exists()
    assert verify(open_book(book.path), rebuild=False)["ok"]
    with get_client(sync_client=True) as client:
        artifacts = client.read_artifacts()
    table = next(a for a in artifacts if a.key == "sheets-taken")
    lines = json.loads(str(table.data))
    assert len(lines) == len(_sheets())
    assert sum(line["arrived"] for line in lines) == sum(line["counted"] for line in lines) > 600

    again = season_flow(book.path, _sheets(), "2026", date(2026, 4, 13))
    assert again["drawn_anew"] == 0
    assert again["folder"] == done["folder"]


def test_task_tries_again_while_another_writes(
    prefect_server: None, book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A book in use is tried again; a mistake that stays one is not."""
    from pipeline.errors import FigureError
    from pipeline.flows import season

    tries: list[int] = []
    kept = season.take

    def busy_once(opened: Book, *args: object, **kept_args: object) -> object:
        tries.append(1)
        if len(tries) == 1:
            with writing(opened), writing(Book(opened.path), wait_s=0.1):
                raise AssertionError("two writers at once")
        return kept(opened, *args, **kept_args)  # type: ignore[arg-type]

    monkeypatch.setattr(season, "take", busy_once)
    quick = season.take_sheets.with_options(retry_delay_seconds=0)
    taken = quick(book.path, _sheets()[:1], date(2026, 4, 6), "test")
    assert len(tries) == 2 and taken[0].counted == 240

    def mistaken(*_: object, **__: object) -> object:
        tries.append(1)
        raise FigureError("no such member")

    monkeypatch.setattr(season, "take", mistaken)
    with pytest.raises(FigureError):
        quick(book.path, [], None, "test")
    assert len(tries) == 3
