"""Coffee followed from the scale to the sale, as the commands show it of a small book."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import Result

from pipeline.book.book import Book
from pipeline.decide import decide
from pipeline.queue import season_flags
from pipeline.verify import verify
from tests.take.small import ASHA, AT, BEMI, BY, SETTINGS, ask, made, registers, sheet, taken

Run = Callable[..., Result]
METER = '\n[[meter]]\ncode = "M1"\nstation = "KES"\nmethod = "oven, ISO 6673"\n'
CHERRY = {"form": "fresh cherry", "moisture_pct": "", "gross_kg": "101.2", "net_kg": "100.0"}
CARD = [
    {"line": "1", "step": "receiving", "form": "fresh cherry", "kg_out": "400.0"},
    {"line": "2", "step": "pulping", "form": "parchment", "begun_at": "16:00"},
    {"line": "3", "step": "washing", "form": "parchment", "day": "2026-05-05", "kg_out": "154.0"},
    {"line": "4", "step": "drying", "form": "parchment", "day": "2026-05-05", "kg_in": "154.0"}
    | {"kg_out": "78.5", "ended_on": "2026-05-15", "moisture_pct": "11.5"},
    {"line": "5", "step": "hulling", "form": "green", "day": "2026-06-01", "kg_in": "78.5"}
    | {"kg_out": "63.0", "ended_on": "2026-06-01"},
]
SALE = {"sale_no": "S-1", "line": "1", "day": "2026-06-20", "buyer": "Tolmar", "lot_no": "L1"} | {
    "species": "arabica", "form": "green", "net_kg": "60.0", "amount": "300.00"
}  # fmt: skip


def _book(folder: Path, *sales: dict[str, str]) -> Book:
    book = made(folder / "book", SETTINGS + METER)
    weighed = [CHERRY | {"receipt_no": str(n)} for n in (1, 2, 4)]
    weighed.append(CHERRY | {"receipt_no": "5", "member_no": BEMI})
    cards = [{"lot_no": "L1", "station": "KES", "species": "arabica", "day": "2026-05-04"} | row
             for row in CARD]  # fmt: skip
    handed_out = {"station": "KES", "receipt_book": "K01", "first_no": "1", "last_no": "50"}
    paid = {"day": "2026-05-04", "station": "KES", "amount": "170.25"}
    taken(
        book,
        *registers(folder),
        sheet(folder, "books.csv", "receipt_books", [handed_out]),
        sheet(folder, "weighings_KES_2026-W19.csv", "weighings", weighed),
        sheet(folder, "lots_KES_2026-W23.csv", "lots", cards),
        sheet(folder, "payments_2026-W19.csv", "payments", [paid]),
        sheet(folder, "sales_2026-W25.csv", "sales", [SALE, *(SALE | one for one in sales)]),
    )
    return book


@pytest.fixture(scope="module")
def story(tmp_path_factory: pytest.TempPathFactory) -> Book:
    return _book(tmp_path_factory.mktemp("coffee"))


def test_a_balance_sheet_adds_up_form_by_form(run: Run, story: Book) -> None:
    found = json.loads(run("coffee", story.path, "--json").stdout)
    by_form = {row["form"]: row for row in found}
    assert by_form["fresh_cherry"]["bought_kg"] == "400.000"
    assert by_form["fresh_cherry"]["closing_kg"] == "0.000"
    assert by_form["parchment"]["water_kg"] == "-75.500"
    assert by_form["green"]["processed_kg"] == "63.000"
    assert (by_form["green"]["sold_kg"], by_form["green"]["closing_kg"]) == ("-60.000", "3.000")
    shown = run("coffee", story.path, "--station", "KES", "--week", "2026-W20").stdout
    assert "lay there at the start" in shown and "-75.5" in shown


def test_a_week_without_coffee_and_an_unknown_lot_are_refused_in_a_sentence(
    run: Run, story: Book
) -> None:
    assert (
        "They run from 2026-W19 to 2026-W25."
        in run("coffee", story.path, "--week", "2026-W40").stderr
    )
    assert "There are: L1." in run("lots", story.path, "L9").stderr
    assert "It declares: KES, ARD." in run("day", story.path, "KEX", "2026-05-04").stderr
    assert "lies in no season" in run("day", story.path, "KES", "2031-05-04").stderr


def test_a_lot_shows_its_steps_and_whose_coffee_it_is(run: Run, story: Book) -> None:
    one = json.loads(run("lots", story.path, "L1", "--json").stdout)
    assert [step["steps"] for step in one["steps"]] == [
        "receiving", "pulping, washing", "drying", "hulling",
    ]  # fmt: skip
    assert one["lot"]["days_dried"] == 10
    # Three of four bags were Asha's: her share of all the cherry in it.
    assert [(m["member_no"], m["taken_in_kg"]) for m in one["members"]] == [
        (ASHA, "300.000"), (BEMI, "100.000"),
    ]  # fmt: skip
    shown = run("lots", story.path, "L1").stdout
    assert "75.0 %" in shown and "pulping, washing" in shown
    assert "L1" in run("lots", story.path).stdout


def test_weights_stand_on_each_basis_with_what_it_rests_on(run: Run, story: Book) -> None:
    shown = run("weights", story.path).stdout
    assert "arabica fresh cherry: 6 (a stated limit)" in shown
    assert "KES, meter M1: oven, ISO 6673" in shown
    (row,) = json.loads(run("weights", story.path, "--json").stdout)["weights"]
    assert (row["net_kg"], row["standard_kg"], row["gbe_kg"]) == ("400.000", None, "66.668")


def test_a_day_is_closed_or_what_differs_is_named(run: Run, story: Book) -> None:
    closed = run("day", story.path, "KES", "2026-05-04")
    assert closed.exit_code == 4
    # 300 kg of cherry at 0.6250 less 3 % levy and 0.02 a kg: 175.88 for Asha, and 58.63 for Bemi.
    assert "Book K01, receipt 3: written nowhere" in closed.stdout
    assert f"Asha Doreme ({ASHA}): coffee less deductions" in closed.stdout
    quiet = run("day", story.path, "ARD", "2026-05-04")
    assert quiet.exit_code == 0 and "the day is closed" in quiet.stdout


def test_what_is_sold_without_being_there_waits_until_it_is_decided(tmp_path: Path) -> None:
    book = _book(tmp_path, {"line": "2", "net_kg": "10.0"})
    (flag,) = [f for _, f in season_flags(book) if f.rule == "sold-more-than-stock"]
    assert "only 3 kg lay there" in flag.say
    assert ask(book, "select state from sales order by row_no") == [("counted",), ("held",)]
    assert verify(book)["ok"]
    decide(book, flag.flag, "count", because="the buyer's scale agrees", by=BY, at=AT)
    assert ask(book, "select distinct state from sales") == [("counted",)]
    assert ask(book, "select sum(grams) from coffee_moves where what = 'gain'") == [(7000,)]
    assert ask(book, "select sum(grams) from coffee_moves where form = 'green'") == [(0,)]
    assert verify(book)["ok"]


@pytest.mark.long
def test_what_is_left_out_leaves_the_balance_true(tmp_path: Path) -> None:
    book = _book(tmp_path, {"line": "2", "net_kg": "10.0"})
    (flag,) = [f for _, f in season_flags(book) if f.rule == "sold-more-than-stock"]
    decide(book, flag.flag, "leave-out", because="entered twice", by=BY, at=AT)
    assert ask(book, "select state from sales order by row_no") == [("counted",), ("left_out",)]
    found = verify(book)
    assert found["ok"]
    assert found["promises"]["coffee_balance 2026"]["stations"]["KES"]["closing_kg"] == "3.000"


@pytest.mark.long
def test_a_step_left_out_lets_the_rest_of_its_card_go_on(tmp_path: Path) -> None:
    book = made(tmp_path / "book", SETTINGS)
    rows = [
        {"lot_no": "M1", "line": "1", "step": "resting", "form": "parchment", "kg_out": "50.0"}
        | {"from_lots": "Q7"},
        {"lot_no": "M1", "line": "2", "step": "resting", "form": "parchment", "kg_out": "60.0"},
    ]
    common = {"station": "KES", "species": "arabica", "day": "2026-05-20"}
    taken(
        book,
        *registers(tmp_path),
        sheet(tmp_path, "weighings_KES_2026-W19.csv", "weighings", [{}]),
        sheet(tmp_path, "lots_KES_2026-W21.csv", "lots", [common | row for row in rows]),
    )
    (flag,) = [f for _, f in season_flags(book) if f.rule == "lot-from-nothing"]
    assert ask(book, "select count(*) from coffee_moves where lot_no = 'M1'") == [(0,)]
    decide(book, flag.flag, "leave-out", because="another station's card", by=BY, at=AT)
    assert ask(book, "select sum(grams) from coffee_moves where lot_no = 'M1'") == [(60_000,)]
    assert verify(book)["ok"]
