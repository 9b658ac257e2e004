"""What a decision by command leaves for later in a large season, and who then works it out."""

import shutil
from collections.abc import Callable, Iterable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from pipeline.basis import weights
from pipeline.book.book import Book
from pipeline.cli.main import cli
from pipeline.day import close_day
from pipeline.decide import decide, take_back
from pipeline.desk.app import make_office
from pipeline.errors import FigureError
from pipeline.explain.why import explain_figure
from pipeline.export import export
from pipeline.issue import issue
from pipeline.matches import book_matches
from pipeline.queue import season_flags
from pipeline.season import whole
from pipeline.season.refresh import UP_TO_DATE, WAITING, standing
from pipeline.season.steps import Steps
from pipeline.service.config import service_settings
from pipeline.service.reports import monthly
from pipeline.service.summary import weekly
from pipeline.stock import balance_sheets, lots
from pipeline.upkeep import rebuild, whole_file
from pipeline.verify import verify
from tests.service.conftest import until
from tests.take.small import ASHA, ask, made, registers, sheet, taken

SEASON = "2026"
LATER = "2026-06-08T06:00:00Z"


@pytest.fixture(scope="module")
def held(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """One weighing that waits, and the member's own record of it."""
    folder = tmp_path_factory.mktemp("waits")
    book = made(folder / "book")
    record = {"receipt_book": "K01", "receipt_no": "1", "kg": "61.0"}
    taken(
        book,
        *registers(folder),
        sheet(folder, "kes_2026-W19.csv", "weighings", [{"net_kg": "61.0"}]),
        sheet(folder, "records_2026-W19.csv", "deliveries", [record]),
    )
    return book


@pytest.fixture
def book(held: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Book:
    """The same, however small as if it were large."""
    monkeypatch.setattr("pipeline.season.refresh.LARGE", 0)
    return Book(shutil.copytree(held.path, tmp_path / "book"))


def number(book: Book) -> str:
    (flag,) = [one for _, one in season_flags(book) if one.rule == "net-not-gross-less-tare"]
    return flag.flag


def stands(book: Book) -> str:
    return standing(book, book.journal(), SEASON)


def decided(book: Book) -> Book:
    done = decide(book, number(book), "count", because="so it is", by="Tester")
    assert (done.state, stands(book)) == ("counted", WAITING)
    return book


def followed(book: Book) -> int:
    return int(ask(book, "select coalesce(sum(grams), 0) from coffee_moves")[0][0])


def test_a_decision_by_command_brings_state_and_money_and_leaves_the_rest(book: Book) -> None:
    decided(book)
    assert ask(book, "select sum(value_minor) from member_season") == [(6100,)]
    assert followed(book) == 0
    take_back(book, number(book), because="it was not", by="Tester")
    # All is as when it was last worked out, so that nothing waits any more.
    assert stands(book) == UP_TO_DATE
    assert ask(book, "select sum(value_minor) from member_season") == [(0,)]
    decided(book)
    assert whole_file(book, SEASON) == whole_file(book, SEASON)
    assert (stands(book), followed(book)) == (UP_TO_DATE, 61_000)


def told(book: Book, code: str) -> None:
    with suppress(FigureError):
        explain_figure(book, f"{SEASON}/{code}")


READERS: dict[str, Callable[[Book, Path], Any]] = {
    "coffee": lambda book, _: balance_sheets(book, season=None, station="", week=""),
    "lots": lambda book, _: lots(book, season=None),
    "weights": lambda book, _: weights(book, season=None, station=""),
    "day": lambda book, _: close_day(book, "KES", date(2026, 5, 4)),
    "matches": lambda book, _: book_matches(book),
    "export": lambda book, folder: export(book, SEASON, folder / "out", personal=False),
    "issue": lambda book, _: issue(book, SEASON, by="Tester", at=LATER),
    "why": lambda book, _: told(book, f"{ASHA}/margin"),
    "why of a group": lambda book, _: told(book, "group/since"),
    "weekly": lambda book, _: weekly(book, service_settings(book), LATER),
    "monthly": lambda book, _: monthly(book, service_settings(book), LATER),
}


@pytest.mark.parametrize("reader", READERS)
def test_who_reads_what_waits_works_it_out_first(book: Book, tmp_path: Path, reader: str) -> None:
    READERS[reader](decided(book), tmp_path)
    assert stands(book) == UP_TO_DATE
    assert followed(book) == 61_000


def test_what_hangs_on_states_and_money_alone_is_told_at_once(book: Book) -> None:
    for name in ("balance", "value", "paid"):
        explain_figure(decided(book) if name == "balance" else book, f"{SEASON}/{ASHA}/{name}")
    assert stands(book) == WAITING
    assert verify(book)["ok"]
    done = CliRunner().invoke(cli, ["flags", str(book.path)])
    assert "States and money are up to the last decision" in done.stderr
    rebuild(book)
    done = CliRunner().invoke(cli, ["flags", str(book.path)])
    assert done.stderr == "" and stands(book) == UP_TO_DATE


def test_the_running_desk_works_out_what_a_command_left(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("pipeline.desk.work.QUIET_S", 2.0)
    office = make_office(book, quick_hashes=True)
    office.work.start()
    try:
        decided(book)
        until(lambda: stands(book) == UP_TO_DATE)
        until(lambda: office.desk.sight().whole)
    finally:
        office.work.stop()
        office.accounts.close()
    assert followed(book) == 61_000


def test_the_tables_named_as_later_are_those_whose_steps_can_wait(
    book: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    later: set[str] = set()

    class Noted(Steps):
        def step(
            self, *about: Any, writes: Iterable[str] = (), can_wait: bool = False, **more: Any
        ) -> None:
            if can_wait:
                later.update(writes)
            super().step(*about, writes=writes, can_wait=can_wait, **more)

    monkeypatch.setattr("pipeline.season.work_out.Steps", Noted)
    rebuild(book)
    assert later == whole.LATER
