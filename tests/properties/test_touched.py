"""What is worked out again after a sheet or a decision equals all of it worked out anew."""

import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from checks.rules import RULES
from checks.views import rule_sql
from pipeline.book.book import Book, kept_settings, writing
from pipeline.decide import decide, take_back
from pipeline.decide import record as record_decision
from pipeline.errors import ConservationError
from pipeline.queue import season_flags
from pipeline.season.flags import Flag
from pipeline.season.generations import must_have
from pipeline.season.in_part import MATCH_SQL
from pipeline.season.money import MONEY_SQL, work_out_money
from pipeline.season.reads import STATED, reads_of
from pipeline.season.refresh import BEHIND, UP_TO_DATE, WAITING, standing
from pipeline.season.tables import connect, rows, season_sql
from pipeline.season.work_out import COFFEE_SQL, work_out
from pipeline.settings import Settings
from pipeline.upkeep import bring_up_to_date, waits
from pipeline.verify import verify
from tests.properties.test_promises import SOME, Drawn, copied, seasons
from tests.take.small import (
    ASHA,
    AT,
    BEMI,
    CORO,
    ask,
    made,
    number,
    registers,
    sheet,
    taken,
)

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


@pytest.fixture(autouse=True)
def in_part(monkeypatch: pytest.MonkeyPatch) -> None:
    """However small a book is, work out again only whom a change touches."""
    monkeypatch.setattr("pipeline.season.touched.ONE_IN", 0)


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
    return found.ran


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


def test_a_change_that_touches_no_member_is_worked_out_beside_others_too(base: Book) -> None:
    with copied(base) as (book, folder):
        taken(book, sheet(folder, "kes_2026-W19.csv", "weighings", [{}]))
        price = {"first_day": "2026-05-01", "price_per_kg": "2.00"}
        taken(book, sheet(folder, "prices_2026.csv", "prices", [price]))
        holds(book)


# What comes into a book one after the other: with each, the rows of some members change.
STEPS: list[tuple[str, str, list[dict[str, str]]]] = [
    ("kes_2026-W19.csv", "weighings", [{}, {"receipt_no": "2", "member_no": BEMI}]),
    ("pay_2026-W19.csv", "payments", [{"member_no": BEMI, "amount": "3.00"}]),
    # A later version: one weight mended, one line gone, one of a member who brought nothing before.
    (
        "kes_2026-W19.csv",
        "weighings",
        [{"net_kg": "59.0", "gross_kg": "60.2"}, {"receipt_no": "3", "member_no": CORO}],
    ),
    # One weight that waits, and one under a number that nobody has.
    (
        "kes_2026-W20.csv",
        "weighings",
        [
            {"day": "2026-05-11", "receipt_no": "7", "net_kg": "61.0"},
            {"day": "2026-05-12", "receipt_no": "8", "member_no": number(7777)},
        ],
    ),
    (
        "entries_2026-W20.csv",
        "money_entries",
        [
            {
                "entry_no": "E-1",
                "day": "2026-05-20",
                "member_no": ASHA,
                "entry": "moved",
                "other_member": BEMI,
                "amount": "5.00",
                "reason": "household",
                "authority": "Board, resolution 9",
            }
        ],
    ),
]


def worked_out_for(monkeypatch: pytest.MonkeyPatch) -> list[set[str] | None]:
    """Note for whom money is worked out, None for everybody, each time that it is."""
    for_whom: list[set[str] | None] = []

    def noted(
        con: duckdb.DuckDBPyConnection,
        settings: Settings,
        members: Sequence[str] | None = None,
        found: Mapping[str, str] | None = None,
    ) -> list[str]:
        for_whom.append(None if members is None else set(members))
        return work_out_money(con, settings, members, found)

    monkeypatch.setattr("pipeline.season.paid.work_out_money", noted)
    return for_whom


def holds(book: Book) -> None:
    proof = verify(book)
    assert [p for p in proof["promises"].values() if not p["ok"]] == []


def decided(book: Book, rule: str, action: str, value: str | None = None) -> Flag:
    (flag,) = [one for _, one in season_flags(book) if one.rule == rule and not one.decision]
    decide(book, flag.flag, action, because="so it is", by="Tester", value=value, second="Other")
    return flag


def test_money_is_worked_out_for_those_touched_and_equals_all_anew(
    base: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    for_whom = worked_out_for(monkeypatch)
    nobodys = number(7777)

    def last() -> set[str] | None:
        found, for_whom[:] = for_whom[-1], []
        return found

    with copied(base) as (book, folder):
        expected = [{ASHA, BEMI}, {BEMI}, {ASHA, BEMI, CORO}, {ASHA, nobodys}, {ASHA, BEMI}]
        for (name, kind, changes), members in zip(STEPS, expected, strict=True):
            taken(book, sheet(folder, name, kind, changes))
            assert last() == members, name
            holds(book)
        # Between them money was moved: their accounts add up together.
        waits = decided(book, "net-not-gross-less-tare", "count")
        assert last() == {ASHA, BEMI}
        holds(book)
        take_back(book, waits.flag, because="it was not", by="Tester")
        assert last() == {ASHA, BEMI}
        holds(book)
        # A number that is amended was another's before: both are worked out again.
        decided(book, "unknown-member", "amend", CORO)
        assert last() == {nobodys, CORO}
        holds(book)


@pytest.mark.parametrize(
    ("query", "right", "wrong", "said"),
    [
        ("settled_at_once", " taken_minor", " [1000000]", "more is taken"),
        ("settled_at_once", " value_minor", " value_minor + 1", "statements differ"),
        ("member_season", "coalesce(y.paid_minor, 0)", "1", "statements differ"),
        ("earned_of", "coalesce(v.value_minor, 0)", "1", "statements differ"),
    ],
)
def test_money_that_does_not_add_up_is_refused_though_only_a_few_are_worked_out(
    base: Book, monkeypatch: pytest.MonkeyPatch, query: str, right: str, wrong: str, said: str
) -> None:
    assert right in season_sql(query)

    def asked(name: str) -> str:
        return season_sql(name).replace(right, wrong) if name == query else season_sql(name)

    with copied(base) as (book, folder):
        taken(book, sheet(folder, "kes_2026-W19.csv", "weighings", [{"net_kg": "61.0"}]))
        monkeypatch.setattr("pipeline.season.refresh.LARGE", 0)
        file = must_have(book, "2026")
        monkeypatch.setattr("pipeline.season.money.season_sql", asked)
        with pytest.raises(ConservationError, match=said):
            decided(book, "net-not-gross-less-tare", "count")
        assert must_have(book, "2026") == file
        # The decision is safe, and worked in by a program that adds up.
        monkeypatch.undo()
        bring_up_to_date(book, book.journal(), kept_settings(book.journal()))
        assert stands(book) == UP_TO_DATE
        holds(book)


def test_what_can_wait_is_brought_later_and_gives_the_same(
    base: Book, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In a large season a decision brings states and money at once; the rest follows."""
    with copied(base) as (book, folder):
        record = {"receipt_book": "K01", "receipt_no": "1", "kg": "61.0"}
        taken(
            book,
            sheet(folder, "kes_2026-W19.csv", "weighings", [{"net_kg": "61.0"}]),
            sheet(folder, "records_2026-W19.csv", "deliveries", [record]),
        )
        monkeypatch.setattr("pipeline.season.refresh.LARGE", 0)
        journal = book.journal()
        settings = kept_settings(journal)
        (held,) = [f for _, f in season_flags(book) if f.rule == "net-not-gross-less-tare"]
        with writing(book):
            journal, _, _ = record_decision(
                book,
                journal,
                settings,
                [held.flag],
                "count",
                because="so it is",
                by="Tester",
                at=AT,
            )
        assert stands(book) == BEHIND
        bring_up_to_date(book, journal, settings, at_once=True)
        assert stands(book) == WAITING
        assert waits(book, journal, settings)
        assert value_of(book) == 6100
        # Coffee was not followed yet: its law would not hold, and is not asked for.
        assert ask(book, "select count(*) from coffee_moves") == [(0,)]
        holds(book)
        file = must_have(book, "2026")
        bring_up_to_date(book, journal, settings, at_once=True)
        assert must_have(book, "2026") == file
        bring_up_to_date(book, journal, settings)
        assert stands(book) == UP_TO_DATE
        assert not waits(book, journal, settings)
        assert ask(book, "select sum(grams) from coffee_moves") == [(61_000,)]
        holds(book)


def test_whose_flags_and_decisions_a_query_reads_is_named_with_them() -> None:
    """Or a step would not know that it hangs on them; costs_apart is given them otherwise."""
    texts = [rule_sql(rule.query) for rule in RULES if rule.query]
    queries = (*MATCH_SQL, *COFFEE_SQL, *MONEY_SQL, "valued", "green_basis", "matched", "unmatched")
    texts += [season_sql(name) for name in queries]
    for text in texts:
        plain = re.sub(r"--.*", "", text)
        mentions = re.findall(r"\b(?:from|join) (?:exceptions|decisions|flags)\b", plain)
        assert len(mentions) == len(STATED.findall(plain)), text
    assert "weighings" not in reads_of("select 'weighings' as kind from payments")
    assert "lots" in reads_of("select 1 from exceptions as e\n where e.kind = 'lots'")


def stands(book: Book) -> str:
    return standing(book, book.journal(), "2026")


def value_of(book: Book) -> int:
    return int(ask(book, "select sum(value_minor) from member_season")[0][0])


def test_a_record_that_is_left_out_is_matched_no_more(base: Book) -> None:
    with copied(base) as (book, folder):
        record = {"receipt_book": "K01", "receipt_no": "1", "kg": "60.0", "day": "2025-05-04"}
        taken(
            book,
            sheet(folder, "kes_2026-W19.csv", "weighings", [{}]),
            sheet(folder, "records_2026-W19.csv", "deliveries", [record]),
        )
        matched = "select count(*) from matched"
        assert ask(book, matched) == [(1,)]
        decided(book, "outside-season", "leave-out")
        assert ask(book, matched) == [(0,)]
        holds(book)
