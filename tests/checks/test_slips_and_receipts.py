"""Rules that name a slip, and rules on receipts as they follow each other, each with its limit."""

from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.checks.many import Row, book_of, found, people, weighed
from tests.take.small import ASHA, BEMI, DAY, ask, made, sheet, taken

PAST = [52.0, 55.0, 57.5, 60.0, 63.0, 66.0]


def brought(member: str, nets: list[float], **cells: str) -> list[Row]:
    return [weighed(net, member_no=member, **cells) for net in nets]


@pytest.mark.parametrize(
    ("weight", "rule", "corrected"),
    [
        (6.0, "weight-point-slipped", ["60.000"]),
        (132.3, "weight-in-pounds", ["60.011"]),
        (27.2, "weight-in-pounds", ["59.965"]),
        # Within one and a half times what the member brought else, or with no slip that fits.
        (99.0, "weight-in-pounds", []),
        (12.0, "weight-of-other-form", ["60.000"]),
        (20.0, "weight-of-other-form", ["60.006"]),
        (8.9, "weight-point-slipped", []),
    ],
)
def test_a_weight_far_from_the_members_others(
    tmp_path: Path, weight: float, rule: str, corrected: list[str]
) -> None:
    book = book_of(tmp_path, [ASHA], {"weighings": brought(ASHA, [*PAST, weight])})
    assert found(book, rule, "corrected_kg") == corrected
    assert len(ask(book, "select 1 from flags where rule like 'weight-%'")) == len(corrected)


def test_a_lost_point_is_held_with_the_money_at_stake(tmp_path: Path) -> None:
    few, enough = people(1200, 2)
    small = [5.2, 5.5, 5.7, 6.0, 6.3]
    rows = [*brought(few, [*small[:4], 60.0]), *brought(enough, [*small, 60.0])]
    # Two sacks on the scale are no slip.
    rows += [weighed(12.0, member_no=enough, bags="2")]
    book = book_of(tmp_path, [few, enough], {"weighings": rows})
    held = ask(
        book,
        "select w.member_no, w.state, f.minor_at_stake from flags f join weighings w "
        "using (sheet_no, row_no) where f.rule = 'weight-point-lost'",
    )
    # Five other weights are a past to go by, four are not; 54 of 60 kg are at stake.
    assert held == [(enough, "held", 5400)]


@pytest.mark.parametrize(("weight", "flagged"), [(41.5, ["124.512"]), (41.6, [])])
def test_a_bag_too_many_is_no_slip(tmp_path: Path, weight: float, flagged: list[str]) -> None:
    # Each of two sacks half of what one weighs else; the whole a quarter below the least, 52 kg.
    rows = [*brought(ASHA, PAST), *brought(ASHA, [weight], bags="2")]
    book = book_of(tmp_path, [ASHA], {"weighings": rows})
    assert found(book, "weight-of-other-form", "corrected_kg") == flagged


def test_a_members_own_record_is_only_noted(tmp_path: Path) -> None:
    records: list[Row] = [{"kg": f"{kilos:.1f}"} for kilos in [*PAST, 600.0]]
    weighings = brought(ASHA, PAST)
    book = book_of(tmp_path, [ASHA], {"weighings": weighings, "deliveries": records})
    assert found(book, "weight-point-slipped", "corrected_kg") == ["60.000"]
    assert ask(book, "select count(*) from deliveries where state = 'counted'") == [(7,)]


def numbered(*numbers: int, book: str = "K50", **cells: str) -> list[Row]:
    return [
        weighed(50 + n / 10, receipt_book=book, receipt_no=str(no), **cells)
        for n, no in enumerate(numbers)
    ]


def test_gaps_and_void_receipts(tmp_path: Path) -> None:
    rows = [
        *numbered(101, 102, 103),
        *numbered(1, 2, 5, 6, 9, book="K51"),
        *numbered(7, book="K52"),
    ]
    books: list[Row] = [
        {"station": "KES", "receipt_book": "K51", "first_no": "1", "last_no": "50"}
        | {"void_nos": "3-4, 6", "spoiled_nos": "4 and 8", "issued_on": "2026-03-30"}
    ]
    book = book_of(tmp_path, [ASHA], {"weighings": rows, "receipt_books": books})
    gaps = ask(
        book,
        "select facts ->> 'numbers', facts ->> 'missing', row_key from flags "
        "where rule = 'receipt-gap' order by all",
    )
    # 3 and 4 are void or spoiled, and so is 8: of 7 and 8 one is missing. 7 is no gap in K52.
    assert gaps == [("7", "1", "KES|K51|9|1")]
    assert found(book, "void-receipt-used", "receipt_no") == ["6"]


def test_a_gap_names_its_numbers(tmp_path: Path) -> None:
    rows = numbered(1, 2, 3, 9, 11, book="K53")
    books: list[Row] = [
        {"station": "KES", "receipt_book": "K53", "first_no": "1", "last_no": "50"}
        | {"void_nos": "5", "issued_on": "2026-03-30"}
    ]
    book = book_of(tmp_path, [ASHA], {"weighings": rows, "receipt_books": books})
    assert found(book, "receipt-gap", "numbers") == ["10", "4, 6–8"]
    assert found(book, "receipt-gap", "missing") == ["1", "4"]


def test_days_that_do_not_run_on_with_the_numbers(tmp_path: Path) -> None:
    def book_days(book: str, *days: int) -> list[Row]:
        return [
            row
            for no, day in enumerate(days, start=1)
            for row in numbered(no, book=book, day=f"2026-05-{day:02}")
        ]

    rows = [
        *book_days("K60", 4, 4, 5, 5, 8),
        *book_days("K61", 4, 5, 9, 5, 6),
        *book_days("K62", 5, 6, 4, 7, 8),
    ]
    book = book_of(tmp_path, [ASHA], {"weighings": rows})
    off = ask(
        book,
        "select facts ->> 'receipt_book', facts ->> 'receipt_no', facts ->> 'other_no' from flags "
        "where rule = 'receipt-out-of-order' order by all",
    )
    assert off == [("K61", "3", "4"), ("K62", "3", "2")]


def test_lines_of_one_receipt_have_one_day(tmp_path: Path) -> None:
    def receipt(no: int, *days: int, **cells: str) -> list[Row]:
        return [
            row | {"line": str(line)} | cells
            for line, day in enumerate(days, start=1)
            for row in numbered(no, book="K63", day=f"2026-05-{day:02}")
        ]

    rows = [
        *receipt(1, 4, 4, 4),
        *receipt(2, 4, 6, 4),
        *receipt(3, 5, 7),
        *receipt(4, 5),
        *receipt(5, 6, 6),
        # The same number once more, by another member, is no line of that receipt.
        *receipt(5, 8, member_no=BEMI, line="3"),
    ]
    book = book_of(tmp_path, [ASHA, BEMI], {"weighings": rows})
    off = ask(
        book,
        "select facts ->> 'receipt_no', right(facts ->> 'day', 1), right(facts ->> 'other_day', 1) "
        "from flags where rule = 'receipt-of-two-days' order by all",
    )
    # Of two lines either may be the one.
    assert off == [("2", "6", "4"), ("3", "5", "7"), ("3", "7", "5")]


@pytest.mark.parametrize(
    ("receipts", "times", "flagged"), [(30, 31, 1), (30, 30, 0), (12, 40, 1), (11, 40, 0)]
)
def test_coffee_bunched_after_a_rise(
    tmp_path: Path, receipts: int, times: int, flagged: int
) -> None:
    prices: list[Row] = [
        {},
        {"from_day": "2026-06-01", "price_per_kg": "1.2000", "list_no": "PL-2"},
    ]
    others = [f"2026-{day}" for day in ("05-04", "05-11", "05-18", "05-25", "06-08", "06-15")]
    rows = [
        weighed(10.0, day=day, member_no=ASHA) for day in others for _ in range(10)
    ]  # 100 kg each
    rows += [weighed(times * 10 / receipts, day="2026-06-01") for _ in range(receipts - 1)]
    rest = times * 10 - sum(float(row["net_kg"]) for row in rows[60:])
    rows.append(weighed(rest, day="2026-06-01"))
    book = book_of(tmp_path, [ASHA], {"weighings": rows, "prices": prices})
    assert found(book, "bunched-at-price", "usual_kg") == ["100.000"] * flagged


@pytest.mark.parametrize(("price", "on"), [("1.2000", "2026-06-01"), ("0.9000", "2026-05-31")])
def test_a_day_that_stands_out_beside_a_price_though_three_do_not(
    tmp_path: Path, price: str, on: str
) -> None:
    prices: list[Row] = [{}, {"from_day": "2026-06-01", "price_per_kg": price, "list_no": "PL-2"}]
    first = date.fromisoformat(on)
    # 100 kg on this weekday and 300 kg on its neighbours of other weeks; then 400 kg, and no more.
    step = 1 if price > "1" else -1
    rows = [
        weighed(kilos, day=(first + timedelta(days=7 * week + step * n)).isoformat())
        for week in (-3, -2, -1, 1, 2)
        for n, kilos in ((0, 10.0), (1, 30.0))
        for _ in range(10)
    ]
    rows += [weighed(20.0, day=on) for _ in range(20)]
    book = book_of(tmp_path, [ASHA], {"weighings": rows, "prices": prices})
    assert found(book, "bunched-at-price", "span_from") == [on]
    assert found(book, "bunched-at-price", "span_to") == [on]
    assert found(book, "bunched-at-price", "kg") == ["400.000"]


def test_a_sheet_that_came_in_late(tmp_path: Path) -> None:
    book = made(tmp_path / "book")
    taken(book, sheet(tmp_path, "members.csv", "members", [{}]), day=date(2026, 4, 1))
    for day, name in (("2026-06-16", "W25"), ("2026-06-08", "W24")):
        rows = [weighed(60.0, day=day)]
        taken(book, sheet(tmp_path, f"weighings_2026-{name}.csv", "weighings", rows), day=DAY)
    # Taken on 30 June: fourteen days after the one, twenty-two after the other.
    assert found(book, "sheet-late", "days_after") == ["22"]


def test_one_bringer_for_several_members_near_what_their_trees_bear(tmp_path: Path) -> None:
    members = people(1300, 7)
    plots: list[Row] = [{"member_no": no, "trees": "70", "trees_bearing": "66"} for no in members]
    # 60 kg of parchment are 48 kg green: 0.727 kg a tree, above 80 % of 0.9 kg.
    rows = [
        weighed(60.0, member_no=no, receipt_book="K70", receipt_no=str(n), brought_by="neighbour")
        for n, no in ((1, members[0]), (2, members[1]), (3, members[2]))
    ]
    rows += [
        weighed(60.0, member_no=no, receipt_book="K71", receipt_no=str(n), brought_by="neighbour")
        for n, no in ((1, members[3]), (2, members[4]), (4, members[5]), (5, members[6]))
    ]
    book = book_of(tmp_path, members, {"weighings": rows, "plots": plots})
    assert found(book, "one-bringer-for-several", "receipt_book") == ["K70"]
    assert found(book, "one-bringer-for-several", "members_full") == ["3"]
