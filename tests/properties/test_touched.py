"""What is worked out again after a sheet or a decision equals all of it worked out anew."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.book.book import Book, kept_settings
from pipeline.decide import decide
from pipeline.queue import season_flags
from pipeline.season.generations import must_have
from pipeline.season.tables import connect, rows
from pipeline.season.work_out import work_out
from pipeline.verify import verify
from tests.properties.test_promises import SOME, Drawn, copied, seasons
from tests.take.small import made, registers, sheet, taken

FLAGS = "select flag, decision from flags order by flag"

AMENDED = """
    insert into decisions (decision_n, flag, rule, kind, sheet_no, row_no, row_key, col,
        value_hash, action, because, decided_by, decided_at)
    values (999, 'f', 'r', 'payments', 1, 1, 'k', 'amount', 'v', 'amend', 'b', 'Tester', 'now')
"""


@pytest.fixture(name="base", scope="module")
def base_fixture(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("touched")
    book = made(folder / "book")
    taken(book, *registers(folder))
    return book


@pytest.mark.long
@SOME
@given(drawn=seasons(), picks=st.lists(st.integers(0, 50), max_size=3), counts=st.booleans())
def test_sheets_and_decisions_in_turns_give_what_all_anew_gives(
    base: Book, drawn: Drawn, picks: list[int], counts: bool
) -> None:
    with copied(base) as (book, folder):
        first, *others = drawn.write(folder / "sheets")
        taken(book, first)
        for pick, path in zip([*picks, None], [*others[:3], others[-1]], strict=False):
            taken(book, path)
            found = [flag for _, flag in season_flags(book) if not flag.decision]
            if pick is not None and found:
                flag = found[pick % len(found)]
                action = "count" if counts and flag.severity != "send_back" else "leave-out"
                decide(book, flag.flag, action, because="as drawn", by="Tester")
        proof = verify(book)
        assert [p for p in proof["promises"].values() if not p["ok"]] == []


def ran(book: Book, change: str = "") -> list[str]:
    """Return the steps that run on a copy of the season file, after a change of it."""
    settings = kept_settings(book.journal())
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "season.duckdb"
        copy.write_bytes(must_have(book, "2026").read_bytes())
        with connect(str(copy), read_only=False, macros=True) as con:
            flags = rows(con, FLAGS)
            if change:
                con.execute(change)
            found = work_out(con, settings)
            assert change or rows(con, FLAGS) == flags
    return found


def test_only_what_hangs_on_a_change_is_worked_out_again(base: Book) -> None:
    with copied(base) as (book, folder):
        coffee = {"form": "parchment", "moisture_pct": "15", "net_kg": "60.0", "gross_kg": "61.2"}
        taken(book, sheet(folder, "kes_2026-W19.csv", "weighings", [coffee]))
        assert ran(book) == []

        paid = {"payment_no": "P-1", "amount": "1.00"}
        taken(book, sheet(folder, "pay_2026-W19.csv", "payments", [paid]))
        file = must_have(book, "2026")
        assert ran(book) == []
        # As if a payment had been amended: the rows themselves may stay as they are.
        steps = set(ran(book, AMENDED))
        assert {"rules on payments", "money"} <= steps
        assert not {"valued", "rules on weighings", "rules on plots", "coffee", "match"} & steps

        (flag,) = [flag for _, flag in season_flags(book) if flag.rule == "moisture-unsafe"]
        decide(book, flag.flag, "count", because="dried again since", by="Tester")
        assert must_have(book, "2026") != file
        assert [f.decision for _, f in season_flags(book) if f.flag == flag.flag] == ["count"]
        assert ran(book) == []
