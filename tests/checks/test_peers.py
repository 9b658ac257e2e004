"""Rules that hold trees, costs and days beside others: rows that pass, that fail, at the limit."""

from datetime import date
from pathlib import Path

import pytest

from tests.checks.many import Row, book_of, found, people, weighed
from tests.take.small import ASHA, ask, made, sheet, taken

MEMBERS = people(1400, 9)


def grown(kilos: list[float], **plot: str) -> dict[str, list[Row]]:
    """A plot of 100 bearing trees and a delivery of parchment, 0.8 of it green, for each member."""
    plots: list[Row] = [
        {"member_no": no, "trees": "240", "trees_bearing": "100"} for no in MEMBERS[: len(kilos)]
    ]
    plots[-1] |= plot
    rows = [weighed(kg, member_no=no) for no, kg in zip(MEMBERS, kilos, strict=False)]
    return {"plots": plots, "weighings": rows}


PEERS = [50.0, 52.0, 54.0, 55.0, 56.0, 58.0, 60.0]


@pytest.mark.parametrize(
    ("kilos", "flagged"),
    [
        # 112.4 kg of parchment are 0.899 kg green a tree, 112.6 kg 0.901: twice 0.44 is less.
        ([*PEERS, 112.4], []),
        ([*PEERS, 112.6], ["0.901"]),
        # Seven are too few to be compared with.
        ([*PEERS[1:], 112.6], []),
    ],
)
def test_far_above_the_peers_of_the_zone(
    tmp_path: Path, kilos: list[float], flagged: list[str]
) -> None:
    book = book_of(tmp_path, MEMBERS, grown(kilos))
    assert found(book, "yield-far-above-peers", "gbe_per_tree_kg") == flagged
    if flagged:
        stake = ask(book, "select kg_at_stake from flags where rule = 'yield-far-above-peers'")
        # Beyond the middle of 0.444 kg a tree, on 100 trees.
        assert float(stake[0][0]) == pytest.approx(45.7, abs=0.1)


@pytest.mark.parametrize(
    ("last", "plot", "on", "flagged"),
    [
        (20.0, {}, date(2026, 10, 4), 1),
        # Stumped within two years; and in the last fortnight but one, when some have yet to come.
        (20.0, {"stumped_year": "2024"}, date(2026, 10, 4), 0),
        (20.0, {"stumped_year": "2023"}, date(2026, 10, 4), 1),
        (20.0, {}, date(2026, 9, 21), 1),
        (20.0, {}, date(2026, 9, 20), 0),
        (48.0, {}, date(2026, 10, 4), 0),
    ],
)
def test_far_below_the_peers_once_the_season_is_over(
    tmp_path: Path, last: float, plot: Row, on: date, flagged: int
) -> None:
    book = made(tmp_path / "book")
    kinds = grown([*PEERS, last], **plot) | {"prices": [{}]}
    members = [{"member_no": no} for no in MEMBERS]
    paths = [sheet(tmp_path, f"{kind}.csv", kind, rows) for kind, rows in kinds.items()]
    taken(book, sheet(tmp_path, "members.csv", "members", members), *paths, day=on)
    assert len(found(book, "yield-far-below-peers", "score")) == flagged


def test_costs_far_from_the_peers(tmp_path: Path) -> None:
    costs = ["10.00", "11.00", "12.00", "12.50", "13.00", "14.00", "15.00"]

    def record(activity: str, last: str, members: list[str]) -> list[Row]:
        return [
            {"member_no": no, "cost": cost, "activity": activity, "plot_no": ""}
            for no, cost in zip(members, [*costs[: len(members) - 1], last], strict=True)
        ]

    rows = [
        *record("weeding", "125.10", MEMBERS[:8]),
        # Ten times the middle 12.75, and either side of a tenth of the middle 12.25, 1.225.
        *record("mulching", "127.50", MEMBERS[:8]),
        *record("transport", "1.22", MEMBERS[:8]),
        *record("tools", "1.23", MEMBERS[:8]),
        *record("pruning", "900.00", MEMBERS[:7]),
    ]
    book = book_of(tmp_path, MEMBERS, {"farm_record": rows})
    assert found(book, "cost-far-from-peers", "activity") == ["transport"]


def test_days_of_family_work_far_from_the_peers(tmp_path: Path) -> None:
    days = ["1", "1.5", "2", "2", "2", "2.5", "3"]

    def record(activity: str, last: str, members: list[str]) -> list[Row]:
        return [
            {"member_no": no, "family_days": day, "activity": activity, "plot_no": "", "cost": ""}
            for no, day in zip(members, [*days[: len(members) - 1], last], strict=True)
        ]

    rows = [
        # Five times the middle 2 are 10 days.
        *record("weeding", "10.5", MEMBERS[:8]),
        *record("mulching", "10", MEMBERS[:8]),
        # Seven are too few to be compared with, and above 40 there is a flag already.
        *record("pruning", "12", MEMBERS[:7]),
        *record("transport", "40.5", MEMBERS[:8]),
    ]
    book = book_of(tmp_path, MEMBERS, {"farm_record": rows})
    assert found(book, "labour-far-from-peers", "activity") == ["weeding"]
    assert found(book, "labour-far-from-peers", "middle_days") == ["2.00"]
    assert found(book, "labour-far-from-peers", "days_peers") == ["8"]
    # As many costs below the middle as above: none was written down here.
    assert found(book, "cost-far-from-peers", "activity") == []


def test_more_days_of_work_than_a_day_holds(tmp_path: Path) -> None:
    def days(member: str, *rows: str) -> list[Row]:
        return [{"member_no": member, "family_days": day, "plot_no": ""} for day in rows]

    rows = [
        *days(MEMBERS[0], "20", "20"),
        *days(MEMBERS[1], "20", "20.5"),
        *days(MEMBERS[2], "41", "1"),
    ]
    book = book_of(tmp_path, MEMBERS, {"farm_record": rows})
    # A row that is over the limit for itself has its own flag.
    assert found(book, "labour-over-day", "worked_days") == ["40.5"]
    assert len(found(book, "labour-over-ceiling", "family_days")) == 1


def test_picked_before_the_waiting_days_are_over(tmp_path: Path) -> None:
    spraying: Row = {"activity": "spraying", "product": "copper wash", "waiting_days": "14"}
    rows: list[Row] = [
        spraying | {"day": "2026-05-04", "plot_no": "1"},
        {"activity": "picking", "day": "2026-05-03", "plot_no": "1"},
        {"activity": "picking", "day": "2026-05-17", "plot_no": "1"},
        {"activity": "picking", "day": "2026-05-18", "plot_no": "1"},
        {"activity": "picking", "day": "2026-05-10", "plot_no": "2"},
    ]
    plots: list[Row] = [{"plot_no": "1"}, {"plot_no": "2"}]
    book = book_of(tmp_path, [ASHA], {"farm_record": rows, "plots": plots})
    assert found(book, "picked-before-waiting-over", "day") == ["2026-05-17"]
    assert found(book, "picked-before-waiting-over", "sprayed_day") == ["2026-05-04"]


def test_a_payment_without_a_delivery_names_the_one_that_waits(tmp_path: Path) -> None:
    held, nothing, owed = MEMBERS[:3]
    rows = [
        weighed(60.0, member_no=held, receipt_no="1", gross_kg="161.0", net_kg="160.0"),
        weighed(60.0, member_no=owed, receipt_no="2"),
    ]
    payments: list[Row] = [
        {"payment_no": "A", "member_no": held},
        {"payment_no": "B", "member_no": nothing},
        {"payment_no": "C", "member_no": owed, "amount": "58.20"},
        {"payment_no": "D", "member_no": owed, "amount": "0.01"},
    ]
    book = book_of(tmp_path, MEMBERS, {"weighings": rows, "payments": payments})
    waiting = "waiting_first"
    assert found(book, "payment-without-delivery", waiting) == ["-", "KES K01 1 2026-05-04"]
    assert found(book, "payment-without-delivery", "waiting_rows") == ["0", "1"]
    assert len(found(book, "paid-more-than-owed", "paid_minor")) == 1
