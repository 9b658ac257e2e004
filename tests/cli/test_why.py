"""Every figure that a statement prints can be followed down to the cells it was made from."""

import csv
import json
import re
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest
from click.testing import Result

from pipeline.book.book import Book, open_book
from pipeline.decide import decide
from pipeline.explain.why import explain_figure
from pipeline.intake.names import LANGUAGES
from pipeline.issue import issue
from pipeline.queue import season_flags
from tests.take.small import ASHA, AT, BEMI

Run = Callable[..., Result]
# Figures whose rows are what they are worked out from, and no sum.
NO_SUM = {"yield", "expected", "before", "tools"}


@pytest.fixture(scope="module")
def issued(filled: Book, tmp_path_factory: pytest.TempPathFactory) -> tuple[Book, set[str]]:
    """The small book with a cell amended and one statement issued, and the codes it prints."""
    import shutil

    book = Book(shutil.copytree(filled.path, tmp_path_factory.mktemp("issued") / "book"))
    flag = next(f for _, f in season_flags(book) if f.rule == "net-not-gross-less-tare")
    decide(book, flag.short, "amend", because="so the receipt", by="manager", value="60.0", at=AT)
    done = issue(book, "2026", by="manager", members=[ASHA], at=AT)
    (page,) = done.folder.glob(f"statements/*/{ASHA}.html")
    printed = rf"2026/{ASHA}/[a-z_/]+[a-z](?:/20[0-9]{{2}}-[0-9]{{2}})?"
    codes = set(re.findall(printed, page.read_text("utf-8")))
    return book, codes


def number(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def test_the_statement_prints_the_codes_of_all_its_figures(issued: tuple[Book, set[str]]) -> None:
    assert issued[1] >= {
        f"2026/{ASHA}/{name}"
        for name in (
            "value",
            "balance",
            "paid",
            "deducted/levy",
            "deducted/transport",
            "delivered/arabica/parchment",
            "delivered/arabica/fresh_cherry",
            "yield/arabica",
            "cost",
            "margin",
            "cost_per_kg",
            "price_per_kg",
            "break_even_price",
            "break_even_kg",
            "family_day",
            "cash/2026-05",
        )
    }


def test_every_printed_code_is_explained_down_to_cells_that_add_up(
    run: Run, issued: tuple[Book, set[str]], sheets: dict[str, Path]
) -> None:
    book, codes = issued
    assert len(codes) >= 8
    kept = {name: list(csv.reader(path.open(encoding="utf-8"))) for name, path in sheets.items()}
    looked_at = 0
    for code in sorted(codes):
        told = run("why", book.path, code, "--json")
        assert told.exit_code == 0, (code, told.stderr)
        figure = json.loads(told.stdout)
        assert figure["figure"] == code
        assert figure["rows"] or figure["parts"], code
        if figure["rows"] and not NO_SUM & set(code.split("/")):
            amounts = [number(row["amount"]) for row in figure["rows"]]
            assert sum(amounts) == number(figure["value"]), code
        for row in [*figure["rows"], *figure["prices"]]:
            headings, line = kept[row["sheet"]][0], kept[row["sheet"]][row["row"] - 1]
            assert line[headings.index(row["column"])] == row["cell"], (code, row)
            looked_at += 1
        words = run("why", book.path, code)
        assert words.exit_code == 0
        assert words.stdout.splitlines()[0] == (
            f"{figure['title']}: {figure['value']} {figure['unit']}"
        )
        for row in figure["rows"]:
            assert f'{row["sheet"]}, row {row["row"]}, column "{row["column"]}"' in words.stdout
    assert looked_at > 15


def test_the_balance_is_value_less_deductions_less_payments(
    run: Run, issued: tuple[Book, set[str]]
) -> None:
    book, _ = issued

    def value(name: str) -> Decimal:
        told = run("why", book.path, f"2026/{ASHA}/{name}", "--json")
        return number(json.loads(told.stdout)["value"])

    balance = json.loads(run("why", book.path, f"2026/{ASHA}/balance", "--json").stdout)
    assert [(part["sign"], part["figure"].rsplit("/", 1)[1]) for part in balance["parts"]] == [
        ("+", "opening"),
        ("+", "value"),
        ("-", "deducted"),
        ("-", "paid"),
    ]
    # 60.0 kg twice at 1.00 and 100.0 kg at 0.6250; 3 % of each; 0.02 a kg of the cherry.
    assert value("value") == Decimal("182.50")
    assert value("deducted") == Decimal("1.80") * 2 + Decimal("1.88") + Decimal("2.00")
    assert value("paid") == Decimal("17.35")
    assert number(balance["value"]) == value("value") - value("deducted") - value("paid")
    assert sum(
        number(part["value"]) * (1 if part["sign"] == "+" else -1) for part in balance["parts"]
    ) == number(balance["value"])


def test_costs_and_margin_are_explained(run: Run, issued: tuple[Book, set[str]]) -> None:
    book, _ = issued
    cost = json.loads(run("why", book.path, f"2026/{ASHA}/cost", "--json").stdout)
    assert [row["cell"] for row in cost["rows"]] == ["12.50", "3.1"]
    assert number(cost["value"]) == Decimal("15.60")
    margin = json.loads(run("why", book.path, f"2026/{ASHA}/margin", "--json").stdout)
    assert number(margin["value"]) == Decimal("166.90")


def test_what_waits_is_explained_and_not_counted(run: Run, issued: tuple[Book, set[str]]) -> None:
    book, _ = issued
    waiting = json.loads(run("why", book.path, f"2026/{ASHA}/waiting", "--json").stdout)
    assert [(row["row"], row["says"]) for row in waiting["rows"]] == [(5, "sent back")]
    assert number(waiting["value"]) == 60


def test_an_amended_cell_shows_as_it_was_written_beside_the_decision(
    run: Run, issued: tuple[Book, set[str]]
) -> None:
    book, _ = issued
    code = f"2026/{ASHA}/delivered/arabica/parchment"
    told = json.loads(run("why", book.path, code, "--json").stdout)
    row = next(row for row in told["rows"] if row["row"] == 3)
    assert (row["cell"], row["amount"]) == ("61.2", "60.000")
    (decision,) = row["decisions"]
    assert (decision["action"], decision["old_value"], decision["new_value"]) == (
        "amend",
        "61.200",
        "60.0",
    )
    words = run("why", book.path, code).stdout
    assert 'amended from "61.200" to "60.0" by manager on 2026-06-30: so the receipt' in words


@pytest.mark.parametrize("name", ["value", "deducted", "deducted/levy", "paid", "balance", "gbe"])
def test_the_groups_figures_are_the_sum_of_the_members(
    run: Run, issued: tuple[Book, set[str]], name: str
) -> None:
    book, _ = issued
    told = json.loads(run("why", book.path, f"2026/group/{name}", "--json").stdout)
    assert sum(number(row["amount"]) for row in told["rows"]) == number(told["value"]) != 0
    for row in told["rows"]:
        own = run("why", book.path, row["figure"], "--json")
        assert number(json.loads(own.stdout)["value"]) == number(row["amount"]), row


def test_why_changes_nothing(run: Run, issued: tuple[Book, set[str]]) -> None:
    book, codes = issued
    before = {p: p.stat().st_mtime_ns for p in open_book(book.path).path.rglob("*") if p.is_file()}
    run("why", book.path, sorted(codes)[0])
    assert before == {p: p.stat().st_mtime_ns for p in book.path.rglob("*") if p.is_file()}


@pytest.mark.parametrize(
    "name", ["cost_per_kg", "price_per_kg", "break_even_price", "break_even_kg", "family_day"]
)
def test_a_quotient_is_what_its_parts_give_on_a_pocket_calculator(
    run: Run, issued: tuple[Book, set[str]], name: str
) -> None:
    figure = json.loads(run("why", issued[0].path, f"2026/{ASHA}/{name}", "--json").stdout)
    result = Decimal(0)
    for part in figure["parts"]:
        value = number(part["value"])
        match part["sign"]:
            case "+":
                result += value
            case "-":
                result -= value
            case "x":
                result *= value
            case _:
                result /= value
    places = number(figure["value"]).as_tuple().exponent
    assert isinstance(places, int)
    assert result.quantize(Decimal(1).scaleb(places), ROUND_HALF_UP) == number(figure["value"])


def test_a_margin_that_is_held_back_says_why(run: Run, filled: Book) -> None:
    nobody = run("why", filled.path, f"2026/{BEMI}/margin")
    assert nobody.exit_code == 9 and "nothing is recorded" in nobody.stderr


@pytest.mark.parametrize("language", [one for one in LANGUAGES if one != "en"])
def test_every_printed_figure_is_explained_in_every_language(
    issued: tuple[Book, set[str]], language: str
) -> None:
    book, codes = issued
    for code in sorted(codes):
        told, english = explain_figure(book, code, language), explain_figure(book, code)
        assert told["title"] != english["title"], code
        assert told["formula"] != english["formula"], code
        assert told["plain"] == english["plain"] == english["value"], code
        assert len(told["rows"]) == len(english["rows"])
        for row in (*told["rows"], *english["rows"]):
            # A phrase with a place that nothing fills says three points.
            assert row["says"] and "..." not in row["says"], (code, row["says"])
    decided = explain_figure(book, f"2026/{ASHA}/value", language)
    assert any("60.0" in said for row in decided["rows"] for said in row["decided"])
