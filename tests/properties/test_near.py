"""After a change rules look only at rows near to it, and find what they would find among all."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from checks.near import BESIDE, BOOK, HANGS, KEY, MEMBER, ROW, SHEET, parted, shared
from checks.rules import BY_CODE, RULES
from checks.views import of_kind, rule_sql, view_sql
from pipeline.book.book import Book
from pipeline.decide import decide
from pipeline.intake.kinds import kinds
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.season.reads import DERIVED, reads_of, sources
from pipeline.upkeep import rebuild
from tests.take.small import ASHA, BEMI, CORO, ask, made, registers, sheet, taken

FOUND = (
    "select flag, rule, kind, sheet_no, row_no, row_key, col, value, cast(facts as varchar), "
    "value_hash, measure, kg_at_stake, minor_at_stake, decision from flags order by all"
)
LONE = "select member_no, receipt_unknown from unmatched where side = 'record' order by all"


@pytest.fixture(name="book")
def book_fixture(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    """A small book in which, all the same, only what a change touches is worked out again."""
    monkeypatch.setattr("pipeline.season.touched.ONE_IN", 0)
    book = made(tmp_path / "book")
    taken(book, *registers(tmp_path))
    yield book


def equals_all_anew(book: Book, query: str = FOUND) -> None:
    found = ask(book, query)
    rebuild(book)
    assert found == ask(book, query)
    assert found


def open_flags(book: Book, rule: str) -> list[Flag]:
    return [flag for _, flag in season_flags(book) if flag.rule == rule and not flag.decision]


def test_flags_about_one_line_are_numbered_as_if_found_at_once(book: Book, tmp_path: Path) -> None:
    """One of them may lie near to a change, and the other be another member's."""
    damp = {"receipt_no": "5", "moisture_pct": "15"}
    again = damp | {"member_no": BEMI, "day": "2026-05-11"}
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}, damp]))
    taken(book, sheet(tmp_path, "kes_2026-W20.csv", "weighings", [again]))
    assert len({flag.flag for flag in open_flags(book, "moisture-unsafe")}) == 2
    equals_all_anew(book)
    # The earlier of the two is gone: the other is the first one now.
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}]))
    equals_all_anew(book)


def test_rows_of_one_sheet_are_flagged_once_each(book: Book, tmp_path: Path) -> None:
    """They are near to each other, and each of them brought the sheet near."""
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}]))
    bare = [{"receipt_no": "5", "gross_kg": ""}, {"receipt_no": "6", "gross_kg": ""}]
    taken(book, sheet(tmp_path, "kes_2026-W20.csv", "weighings", bare))
    assert len(open_flags(book, "missing-cell")) == 2
    equals_all_anew(book)


def test_a_sheet_near_by_a_receipt_book_alone_keeps_its_other_flags(
    book: Book, tmp_path: Path
) -> None:
    """What hangs together by sheets is not near to a later sheet of one of its books."""
    bare = {"receipt_book": "K02", "receipt_no": "70", "gross_kg": ""}
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}, bare]))
    later = {"day": "2026-05-11", "receipt_no": "11", "member_no": BEMI}
    taken(book, sheet(tmp_path, "kes_2026-W20.csv", "weighings", [later]))
    assert len(open_flags(book, "missing-cell")) == 1
    equals_all_anew(book)


def test_a_receipt_is_missed_once_its_station_sent_later_days(book: Book, tmp_path: Path) -> None:
    """Nothing of the member whose record names it changed."""
    record = {"receipt_book": "K01", "receipt_no": "9", "day": "2026-05-06", "kg": "44.0"}
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}]))
    taken(book, sheet(tmp_path, "records_2026-W19.csv", "deliveries", [record]))
    assert ask(book, LONE) == [(ASHA, False)]
    later = {"day": "2026-05-11", "receipt_no": "11", "member_no": BEMI}
    taken(book, sheet(tmp_path, "kes_2026-W20.csv", "weighings", [later]))
    assert ask(book, LONE) == [(ASHA, True)]
    assert len(open_flags(book, "receipt-not-weighed")) == 1
    equals_all_anew(book)
    # The receipt comes in late, under a number that is not the member's.
    late = {
        "day": "2026-05-06",
        "receipt_no": "9",
        "member_no": CORO,
        "net_kg": "44.0",
        "gross_kg": "45.2",
    }
    taken(book, sheet(tmp_path, "kes_2026-W19b.csv", "weighings", [late]))
    assert not open_flags(book, "receipt-not-weighed")
    equals_all_anew(book)
    equals_all_anew(book, LONE)


def test_where_a_key_is_amended_all_rows_are_looked_at(book: Book, tmp_path: Path) -> None:
    """The row that had the same key before is near to nothing that the amended row now has."""
    columns = "Station,Receipt book,First receipt,Last receipt,Void receipts"
    (tmp_path / "books.csv").write_text(f"{columns}\nKES,K01,1,50,1\n", "utf-8")
    taken(book, tmp_path / "books.csv")
    taken(book, sheet(tmp_path, "kes_2026-W19.csv", "weighings", [{}, {"member_no": BEMI}]))
    assert len(open_flags(book, "receipt-line-twice")) == 1
    used = next(flag for flag in open_flags(book, "void-receipt-used") if flag.row == 2)
    decide(book, used.flag, "amend", because="as on the receipt", by="Tester", value="7")
    assert not open_flags(book, "receipt-line-twice")
    equals_all_anew(book)


def test_every_query_that_is_run_in_part_can_be() -> None:
    """Flags about more than a row's key are numbered by what they are about: near rows hold all."""
    for kind, queries in HANGS.items():
        used = {rule.query for rule in RULES if kind in rule.on}
        assert queries.keys() & used, kind
        for rule in (rule for rule in RULES if kind in rule.on and rule.query in queries):
            hang = queries[rule.query]
            assert hang in (ROW, MEMBER, BOOK, SHEET, KEY)
            columns = shared(kind, hang)
            assert columns or hang == KEY, rule.code
            assert not rule.about or {*columns} <= {*rule.about}, rule.code
    assert parted("weighings", ["keys_twice", "last_digits"]) == {
        KEY: ["keys_twice"],
        "": ["last_digits"],
    }
    assert shared("weighings", KEY) == kinds()["weighings"].key
    assert BY_CODE["receipt-line-twice"].query == "keys_twice"


@pytest.mark.parametrize("kind", HANGS)
def test_what_stands_beside_a_row_is_declared(kind: str) -> None:
    """A member's rows are looked at again where a step wrote of it; a row's value is its own."""
    alone = [query for query, hang in HANGS[kind].items() if hang == ROW]
    texts = [of_kind(rule_sql(query), kind) if query else view_sql(kind) for query in alone]
    written = sources(reads_of(*texts)) & {*DERIVED}
    assert written - {"valued"} <= {*BESIDE[kind]}
