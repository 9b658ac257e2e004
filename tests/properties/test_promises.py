"""The book's promises over drawn seasons: nothing lost or twice, it adds up, same in same out.

A drawn season is a few sheets of three members' coffee, payments and costs, some rows spoilt, and a
later version of one sheet.
"""

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from pipeline.book.book import Book
from pipeline.taken import STATES, Taken
from pipeline.verify import verify
from tests.take.small import ASHA, BEMI, CORO, ask, made, number, registers, sheet, tables, taken

Row = dict[str, str]
MEMBERS = st.sampled_from([ASHA, BEMI, CORO])
# What may be wrong with a row, none of it in what names the row.
SPOILT_WEIGHING: list[Row] = [
    {"gross_kg": "6l.2"},
    {"net_kg": "61.3"},
    {"tare_kg": "900"},
    {"moisture_pct": "118"},
    {"moisture_pct": "15"},
    {"member_no": number(7777)},
    {"scale": "KES-9"},
    {"grade": "9"},
    {"day": "2025-05-04"},
    {"form": ""},
]
SPOILT_PAYMENT: list[Row] = [
    {"amount": "-1.00"},
    {"amount": "much"},
    {"member_no": number(7777)},
    {"method": "shells"},
    {"day": "2026-12-24"},
]
SPOILT_RECORD: list[Row] = [{"cost": "-1.00"}, {"cost": "x"}, {"activity": "rest"}, {"cost": ""}]


def spoilt(faults: list[Row]) -> st.SearchStrategy[Row]:
    return st.one_of(st.just({}), st.just({}), st.just({}), st.sampled_from(faults))


@st.composite
def weighings(draw: st.DrawFn, book: str, typed_twice: bool) -> list[Row]:
    lines: list[Row] = []
    for n in range(draw(st.integers(1, 7))):
        tenths = draw(st.integers(30, 1400))
        row = {
            "receipt_book": book,
            "receipt_no": str(n + 1),
            "day": f"2026-05-{draw(st.integers(4, 9)):02d}",
            "member_no": draw(MEMBERS),
            "form": draw(st.sampled_from(["parchment", "fresh cherry"])),
            "moisture_pct": "",
            "gross_kg": str(Decimal(tenths + 12) / 10),
            "net_kg": str(Decimal(tenths) / 10),
        }
        row |= draw(spoilt(SPOILT_WEIGHING))
        lines += [row] * (draw(st.sampled_from([1, 1, 1, 2])) if typed_twice else 1)
    return lines


@st.composite
def payments(draw: st.DrawFn) -> list[Row]:
    return [
        {
            "payment_no": f"P-{n}",
            "member_no": draw(MEMBERS),
            "amount": str(Decimal(draw(st.integers(1, 20000))).scaleb(-2)),
        }
        | draw(spoilt(SPOILT_PAYMENT))
        for n in range(draw(st.integers(1, 5)))
    ]


@st.composite
def records(draw: st.DrawFn) -> list[Row]:
    return [
        {"member_no": draw(MEMBERS), "cost": str(Decimal(draw(st.integers(0, 90000))).scaleb(-2))}
        | draw(spoilt(SPOILT_RECORD))
        for _ in range(draw(st.integers(1, 4)))
    ]


# Each example takes whole books: a failing one is shown as drawn, since shrinking takes minutes.
SOME = settings(
    max_examples=4,
    deadline=None,
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)


@dataclass(frozen=True)
class Drawn:
    """A season's sheets by name: kind and rows; `later` is a later version of the first."""

    sheets: dict[str, tuple[str, list[Row]]]
    later: list[Row]
    seed: int

    def write(self, folder: Path, *, shuffled: bool = False) -> list[Path]:
        """Write the sheets as drawn, or rows and files in another order; the later one last.

        The sheet that has a later version keeps its order, and so does that: where a row could not
        be counted, the mended one is the row on its line.
        """
        folder.mkdir()
        mix = Random(self.seed)
        paths: list[Path] = []
        for name, (kind, lines) in self.sheets.items():
            order = mix.sample(lines, len(lines)) if shuffled and paths else lines
            paths.append(sheet(folder, name, kind, order))
        if shuffled:
            mix.shuffle(paths)
        return [*paths, sheet(folder, "later_2026-W19.csv", "weighings", self.later)]


@st.composite
def seasons(draw: st.DrawFn, *, typed_twice: bool = True) -> Drawn:
    """Draw a season; `typed_twice`: some lines of a receipt stand twice in their sheet."""
    first = draw(weighings(book="K01", typed_twice=typed_twice))
    second = [
        row | {"station": "ARD", "scale": "ARD-1", "recorder": "Second"}
        for row in draw(weighings(book="A01", typed_twice=typed_twice))
    ]
    changed = draw(st.sets(st.sampled_from([row["receipt_no"] for row in first])))
    gone = draw(st.sets(st.sampled_from([row["receipt_no"] for row in first])))
    later = [
        row | ({"member_no": CORO, "moisture_pct": ""} if row["receipt_no"] in changed else {})
        for row in first
        if row["receipt_no"] not in gone
    ]
    return Drawn(
        {
            "kes_2026-W19.csv": ("weighings", first),
            "ard_2026-W19.csv": ("weighings", second),
            "pay_2026-W19.csv": ("payments", draw(payments())),
            "farm_2026-W19.csv": ("farm_record", draw(records())),
        },
        # A sheet in which no row is left is still a sheet; a new line stands in for that here.
        [*later, first[0] | {"receipt_no": "99"}],
        draw(st.integers(0, 2**32)),
    )


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("base")
    book = made(folder / "book")
    taken(book, *registers(folder))
    return book


@contextmanager
def copied(base: Book) -> Iterator[tuple[Book, Path]]:
    with tempfile.TemporaryDirectory(prefix="weighbook-test-") as folder:
        yield Book(shutil.copytree(base.path, Path(folder) / "book")), Path(folder)


def counted_totals(book: Book) -> list[Any]:
    """What is counted for each member, without what waits: of two rows of one receipt line the
    later one waits, and which of them is later goes by their order.
    """
    return ask(book, "select * exclude (waiting_rows, waiting_kg) from member_season order by 1")


def totals(book: Book) -> list[Any]:
    """What every member's statement is made of."""
    return ask(book, "from member_season order by member_no") + ask(
        book, "from member_coffee order by all"
    )


def nothing_is_lost(book: Book, said: list[Taken]) -> None:
    assert all(done.arrived == sum(getattr(done, state) for state in STATES) for done in said)
    found = ask(book, f"select arrived, {', '.join(STATES)} from sheet_states")
    assert all(arrived == sum(counts) for arrived, *counts in found)
    in_all = [sum(column) for column in zip(*found, strict=True)]
    assert in_all[0] == sum(in_all[1:])


def it_adds_up(book: Book) -> None:
    members = ask(
        book,
        "select member_no, member_season.value_minor, deducted_minor, paid_minor, balance_minor, "
        "m.variable_minor, m.margin_minor from member_season "
        "left join member_margin as m using (member_no)",
    )
    ledger = {
        (member, what): amount
        for member, what, amount in ask(
            book, "select member_no, what, sum(amount_minor) from transfers group by all"
        )
    }
    for member, value, deducted, paid, balance, cost, margin in members:
        assert value == ledger.pop((member, "coffee"), 0)
        assert deducted == ledger.pop((member, "deduction"), 0)
        assert paid == ledger.pop((member, "payment"), 0)
        assert balance == value - deducted - paid
        # Costs may be known and still be too few for a margin.
        assert margin is None or margin == value - cost
    # Money on no member's statement would be money that nobody owes or owns.
    assert not ledger
    in_group = ask(
        book,
        "select sum(case what when 'coffee' then amount_minor else -amount_minor end) "
        "from transfers",
    )[0][0]
    assert sum(balance for *_, balance, _, _ in members) == (in_group or 0)
    assert ask(book, "select sum(net_kg) from member_coffee") == ask(
        book, "select sum(net_kg) from weighings where state = 'counted'"
    )


def costs_are_those_written_down(book: Book) -> None:
    written = dict(
        ask(
            book,
            "select member_no, coalesce(sum(cost_minor), 0) from farm_record "
            "where state = 'counted' group by member_no",
        )
    )
    for member, cost in ask(book, "select member_no, record_cost_minor from member_season"):
        assert cost == written.get(member)


@SOME
@given(drawn=seasons())
def test_a_drawn_season_keeps_every_promise(base: Book, drawn: Drawn) -> None:
    with copied(base) as (book, folder):
        first, *others = drawn.write(folder / "sheets")
        nothing_is_lost(book, taken(book, first))
        nothing_is_lost(book, taken(book, *others))
        it_adds_up(book)
        proof = verify(book)
        assert [p for p in proof["promises"].values() if not p["ok"]] == []

        before = tables(book, "member_season", "transfers", "flags", "exceptions")
        journal = (book.path / "journal.jsonl").read_bytes()
        again = taken(book, *reversed([first, *others]))
        assert {done.status for done in again} == {"known"}
        assert (book.path / "journal.jsonl").read_bytes() == journal
        assert tables(book, *before) == before
        costs_are_those_written_down(book)


STATES_BY_KIND = f"""
    select kind, sum(arrived), {", ".join(f"sum({state})" for state in STATES)}
    from sheet_states group by kind order by kind
"""
# Of two payments on one day, which is the one too many goes by their order.
FLAGS_BY_RULE = """
    select rule, count(*) from flags where rule <> 'paid-more-than-owed' group by rule order by rule
"""


@pytest.mark.long
@SOME
@given(drawn=seasons(typed_twice=False))
def test_neither_the_order_of_files_nor_of_rows_changes_a_state(base: Book, drawn: Drawn) -> None:
    with copied(base) as (book, folder), copied(base) as (other, elsewhere):
        taken(book, *drawn.write(folder / "sheets"))
        taken(other, *drawn.write(elsewhere / "sheets", shuffled=True))
        assert totals(other) == totals(book)
        for text in (STATES_BY_KIND, FLAGS_BY_RULE):
            assert ask(other, text) == ask(book, text)


@pytest.mark.long
@SOME
@given(drawn=seasons())
def test_neither_the_order_of_files_nor_of_rows_changes_a_total(base: Book, drawn: Drawn) -> None:
    with copied(base) as (book, folder), copied(base) as (other, elsewhere):
        taken(book, *drawn.write(folder / "sheets"))
        taken(other, *drawn.write(elsewhere / "sheets", shuffled=True))
        assert counted_totals(other) == counted_totals(book)
        # Of two rows with one receipt line, which one waits, and why, goes by their order.
        states = "select kind, sum(arrived) from sheet_states group by kind order by kind"
        assert ask(other, states) == ask(book, states)
