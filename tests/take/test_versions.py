"""A later version of a sheet: rows changed, added, gone and mended; and a register's later rows."""

from pathlib import Path

from pipeline.book.book import Book
from pipeline.taken import STATES
from tests.take.small import ASHA, BEMI, CORO, ask, sheet, taken


def states(book: Book, kind: str, name: str) -> dict[int, str]:
    return dict(
        ask(
            book,
            f"select r.row_no, r.state from {kind} r join sheets s using (sheet_no) "
            "where s.name = ?",
            name,
        )
    )


def flagged(book: Book, name: str) -> set[tuple[int, str]]:
    return set(
        ask(
            book,
            # The few receipts of these sheets leave gaps in their book.
            "select f.row_no, f.rule from flags f join sheets s using (sheet_no) "
            "where s.name = ? and f.rule <> 'receipt-gap'",
            name,
        )
    )


def coffee(book: Book) -> dict[str, str]:
    return {
        member: str(kg) for member, kg in ask(book, "select member_no, net_kg from member_coffee")
    }


def test_a_later_version_row_by_row(book: Book, tmp_path: Path) -> None:
    first = [
        {"receipt_no": "1"},
        {"receipt_no": "2", "member_no": BEMI},
        {"receipt_no": "3", "gross_kg": "6l.2"},
        {"receipt_no": "4", "member_no": CORO},
        {"receipt_no": "1o5"},
    ]
    later = [
        {"receipt_no": "1"},
        {"receipt_no": "2", "member_no": BEMI, "gross_kg": "71.2", "net_kg": "70.0"},
        {"receipt_no": "3", "gross_kg": "61.2"},
        {"receipt_no": "6", "member_no": CORO, "gross_kg": "41.2", "net_kg": "40.0"},
        {"receipt_no": "105"},
    ]
    taken(book, sheet(tmp_path, "w_2026-W19.csv", "weighings", first))
    assert states(book, "weighings", "w_2026-W19.csv") == {
        2: "counted",
        3: "counted",
        4: "sent_back",
        5: "counted",
        6: "sent_back",
    }
    assert coffee(book) == {ASHA: "60.000", BEMI: "60.000", CORO: "60.000"}
    (done,) = taken(book, sheet(tmp_path, "w_2026-W19_b.csv", "weighings", later))
    assert (done.version, done.counted) == (2, 5)
    assert states(book, "weighings", "w_2026-W19.csv") == {
        2: "replaced",
        3: "replaced",
        4: "replaced",
        5: "counted",
        6: "replaced",
    }
    assert flagged(book, "w_2026-W19.csv") == {(5, "gone-from-later-version")}
    assert flagged(book, "w_2026-W19_b.csv") == set()
    # The row that is gone counts until somebody decides, beside what the later version says.
    assert coffee(book) == {ASHA: "180.000", BEMI: "70.000", CORO: "100.000"}
    for name, arrived, *counts in ask(
        book, f"select name, arrived, {', '.join(STATES)} from sheet_states"
    ):
        assert arrived == sum(counts), name


def test_of_three_versions_the_last_holds(book: Book, tmp_path: Path) -> None:
    for n, (gross, net) in enumerate((("51.2", "50.0"), ("61.2", "60.0"), ("71.2", "70.0"))):
        rows = [{"receipt_no": "1", "gross_kg": gross, "net_kg": net}]
        (done,) = taken(book, sheet(tmp_path, f"w{n}_2026-W19.csv", "weighings", rows))
        assert (done.version, done.counted) == (n + 1, 1)
    assert coffee(book) == {ASHA: "70.000"}
    assert states(book, "weighings", "w1_2026-W19.csv") == {2: "replaced"}


def test_versions_taken_in_one_go_are_versions_all_the_same(book: Book, tmp_path: Path) -> None:
    one, two = taken(
        book,
        sheet(tmp_path, "w_2026-W19.csv", "weighings", [{"receipt_no": "1"}]),
        sheet(tmp_path, "w_2026-W19_b.csv", "weighings", [{"receipt_no": "1", "member_no": BEMI}]),
    )
    assert (one.version, one.replaced) == (1, 1)
    assert (two.version, two.counted) == (2, 1)
    assert coffee(book) == {BEMI: "60.000"}


def test_another_week_or_recorder_is_no_later_version(book: Book, tmp_path: Path) -> None:
    for name, cells in {
        "w_2026-W19.csv": {"receipt_no": "1"},
        "w_2026-W20.csv": {"receipt_no": "2", "day": "2026-05-11"},
        "x_2026-W19.csv": {"receipt_no": "3", "recorder": "Another"},
    }.items():
        (done,) = taken(book, sheet(tmp_path, name, "weighings", [cells]))
        assert (done.version, done.counted) == (1, 1)
    assert coffee(book) == {ASHA: "180.000"}


def test_equal_rows_of_a_record_are_told_apart_by_their_number(book: Book, tmp_path: Path) -> None:
    """Two equal rows, then one of them: one is replaced and the other is gone, neither is lost."""
    twice = [{"cost": "5.00"}, {"cost": "5.00"}]
    taken(book, sheet(tmp_path, "f_2026-W19.csv", "farm_record", twice))
    assert ask(book, "select record_cost_minor from member_season where member_no = ?", ASHA) == [
        (1000,)
    ]
    (done,) = taken(book, sheet(tmp_path, "f_2026-W19_b.csv", "farm_record", twice[:1]))
    assert (done.version, done.counted) == (2, 1)
    assert sorted(states(book, "farm_record", "f_2026-W19.csv").values()) == ["counted", "replaced"]
    assert [rule for _, rule in flagged(book, "f_2026-W19.csv")] == ["gone-from-later-version"]


def test_a_registers_later_row_takes_the_place_of_the_earlier(book: Book, tmp_path: Path) -> None:
    taken(book, sheet(tmp_path, "w.csv", "weighings", [{}]))
    assert ask(book, "select value_minor from member_season where member_no = ?", ASHA) == [(6000,)]
    taken(
        book,
        sheet(tmp_path, "moved.csv", "members", [{"village": "Upper Tarrin"}]),
        sheet(tmp_path, "new_price.csv", "prices", [{"price_per_kg": "1.1000"}]),
        sheet(
            tmp_path, "recount.csv", "plots", [{"counted_on": "2026-06-01", "trees_bearing": "1"}]
        ),
    )
    assert states(book, "members", "members.csv") == {2: "replaced", 3: "counted", 4: "counted"}
    assert ask(
        book, "select village from members where member_no = ? and state = 'counted'", ASHA
    ) == [("Upper Tarrin",)]
    assert states(book, "prices", "prices.csv") == {2: "replaced", 3: "counted"}
    assert ask(book, "select value_minor from member_season where member_no = ?", ASHA) == [(6600,)]
    # Another count is another row: the earlier one stays, and the later one is what bears.
    assert states(book, "plots", "plots.csv") == {2: "counted", 3: "counted", 4: "counted"}
    assert ask(book, "select trees_bearing from member_yield where member_no = ?", ASHA) == [(1,)]
    assert ask(book, "select rule from flags where kind in ('members', 'prices')") == []
