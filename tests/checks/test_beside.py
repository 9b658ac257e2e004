"""Weights beside other evidence, and plots beside their last count: each with its limit."""

from pathlib import Path

import pytest

from tests.checks.many import Row, book_of, found, kg, people, weighed
from tests.take.small import ASHA, ask

SOME = [41.3, 52.7, 63.1, 47.9, 58.4, 66.2]


def receipts(nets: list[float], **cells: str) -> list[Row]:
    """Weighings on receipts numbered from 1 in book K70, a day each from 4 May on."""
    return [
        weighed(net, receipt_book="K70", receipt_no=str(n), day=f"2026-05-{n + 3:02}", **cells)
        for n, net in enumerate(nets, start=1)
    ]


def copied(nets: list[float], **cells: str) -> list[Row]:
    """What the member wrote down of these receipts."""
    shared = {"receipt_book": "K70", "written_from": "receipt copy"} | cells
    return [
        shared | {"receipt_no": str(n), "day": f"2026-05-{n + 3:02}", "kg": kg(net)}
        for n, net in enumerate(nets, start=1)
    ]


@pytest.mark.parametrize(
    ("gross", "corrected"),
    [
        (42.3, []),
        # 24.3 for 42.3, 47.3 for 42.3 is no digit that looks alike; 12.3 for 42.3 is none either.
        (24.3, ["42.300"]),
        (47.3, ["42.300"]),
        (44.3, []),
        (93.3, ["42.320"]),
    ],
)
def test_a_slip_that_the_members_copy_tells(
    tmp_path: Path, gross: float, corrected: list[str]
) -> None:
    weighings = receipts([gross - 1, *SOME[1:]])
    book = book_of(tmp_path, [ASHA], {"weighings": weighings, "deliveries": copied(SOME)})
    assert found(book, "weight-beside-record", "corrected_kg") == corrected


@pytest.mark.parametrize(("gross", "flagged"), [(64.1, 0), (46.1, 1), (65.1, 0)])
def test_a_notebook_may_be_a_little_off(tmp_path: Path, gross: float, flagged: int) -> None:
    # A balance at home that is 2 % high on all days is no finding, nor is 1 kg; digits swapped are.
    wrote = [net * 1.02 + 0.1 * (n % 3 - 1) for n, net in enumerate(SOME)]
    nets = [gross - 1 if net == 63.1 else net for net in SOME]
    records = [row | {"written_from": "own notebook"} for row in copied(wrote)]
    book = book_of(tmp_path, [ASHA], {"weighings": receipts(nets), "deliveries": records})
    assert found(book, "weight-beside-record", "corrected_kg") == ["64.100"] * flagged


def test_a_receipt_that_another_member_wrote_down(tmp_path: Path) -> None:
    one, other = people(1300, 2)
    weighings = [
        *receipts(SOME[:2], member_no=one),
        weighed(50.0, receipt_book="K71", receipt_no="1", day="2026-05-20", member_no=one),
    ]
    record = {
        "receipt_book": "K71",
        "receipt_no": "1",
        "kg": "50.0",
        "written_from": "receipt copy",
    }
    claims: list[Row] = [record | {"member_no": other, "day": "2026-05-20"}]
    book = book_of(tmp_path, [one, other], {"weighings": weighings, "deliveries": claims})
    assert found(book, "receipt-of-other-member", "other_member_no") == [other]
    # More than a week off it is another year's receipt, or another book.
    late = [record | {"member_no": other, "day": "2026-05-28"}]
    far = tmp_path / "far"
    far.mkdir()
    book = book_of(far, [one, other], {"weighings": weighings, "deliveries": late})
    assert found(book, "receipt-of-other-member", "other_member_no") == []


def test_one_line_of_another_form_on_a_receipt(tmp_path: Path) -> None:
    one, other = people(1310, 2)

    def lines(member: str, book: str) -> list[Row]:
        fresh = {"form": "fresh cherry", "moisture_pct": "", "member_no": member}
        at = {"receipt_book": book, "receipt_no": "1"}
        return [
            weighed(40.0, **fresh, **at, line="1"),
            weighed(45.0, member_no=member, **at, line="2"),
        ]

    fresh = {"form": "fresh cherry", "moisture_pct": ""}
    rows = [
        *lines(one, "K72"),
        *lines(other, "K73"),
        *(weighed(33.0, member_no=member, **fresh) for member in (one, other)),
        weighed(30.0, member_no=other),
    ]
    book = book_of(tmp_path, [one, other], {"weighings": rows})
    # The other member brought parchment at another time too.
    assert found(book, "receipt-of-two-forms", "receipt_book") == ["K72"]
    assert found(book, "receipt-of-two-forms", "other_forms") == ["fresh_cherry"]


def cards(days: list[list[float]], first: dict[int, float]) -> tuple[list[Row], list[Row]]:
    """Receipts of fresh cherry by day, and cards of what came in; some say otherwise."""
    fresh = {"form": "fresh cherry", "moisture_pct": ""}
    weighings: list[Row] = []
    lots: list[Row] = []
    for n, nets in enumerate(days):
        day = f"2026-05-{n + 4:02}"
        weighings += [weighed(net, day=day, **fresh) for net in nets]
        lots.append(
            {"lot_no": f"KES-{n}", "line": "1", "station": "KES", "day": day, "species": "arabica"}
            | {"step": "receiving", "form": "fresh cherry", "kg_in": ""}
            | {"kg_out": kg(first.get(n, sum(nets)))}
        )
    return weighings, lots


DAYS = [[40.0 + n, 51.3 + n, 62.8 + n] for n in range(11)]


@pytest.mark.parametrize(
    ("card", "slips", "lines"),
    [
        (None, [], []),
        # On the third day 42.0, 53.3 and 64.8 net are 43.0, 54.3 and 65.8 gross: 34.0 for 43.0,
        # 45.3 for 54.3 and 56.8 for 65.8 all take 9 kg away.
        (151.1, ["34.000", "45.300", "56.800"], []),
        # 53.3 kg less is as much as the second line alone.
        (106.8, [], ["106.800"]),
        # What no slip tells of is no finding of these rules.
        (157.8, [], []),
    ],
)
def test_a_lots_card_that_says_otherwise(
    tmp_path: Path, card: float | None, slips: list[str], lines: list[str]
) -> None:
    weighings, lots = cards(DAYS, {} if card is None else {2: card})
    book = book_of(tmp_path, [ASHA], {"weighings": weighings, "lots": lots})
    assert found(book, "weight-beside-lot-card", "corrected_kg") == slips
    assert found(book, "line-beside-lot-card", "card_kg") == lines


def test_what_is_at_stake_is_shared_among_the_lines_that_fit(tmp_path: Path) -> None:
    weighings, lots = cards(DAYS, {2: 151.1})
    book = book_of(tmp_path, [ASHA], {"weighings": weighings, "lots": lots})
    stakes = ask(
        book,
        "select kg_at_stake, minor_at_stake from flags where rule = 'weight-beside-lot-card'",
    )
    # 9 kg at 0.20 a kg, a third each.
    assert [(float(kilos), minor) for kilos, minor in stakes] == [(3.0, 60)] * 3


def counted(*counts: tuple[str, int, int, str]) -> list[Row]:
    """Counts of plot 1: day, year of planting, trees, year of stumping."""
    return [
        {"plot_no": "1", "counted_on": on, "planted_year": str(year), "trees": str(trees)}
        | {"trees_bearing": "0", "stumped_year": stumped, "area_ha": "1"}
        for on, year, trees, stumped in counts
    ]


@pytest.mark.parametrize(
    ("now", "year", "trees"),
    [
        (("2026-02-10", 2005, 1060, ""), [], []),
        (("2026-02-10", 2005, 1061, ""), [], ["6"]),
        (("2026-02-10", 2005, 940, ""), [], []),
        (("2026-02-10", 2005, 939, ""), [], ["6"]),
        (("2026-02-10", 1995, 1000, ""), ["1995"], []),
        # Planted anew or stumped since the last count.
        (("2026-02-10", 2025, 1500, ""), [], []),
        (("2026-02-10", 2005, 800, "2025"), [], []),
    ],
)
def test_plots_beside_their_last_count(
    tmp_path: Path, now: tuple[str, int, int, str], year: list[str], trees: list[str]
) -> None:
    plots = counted(("2025-02-10", 2005, 1000, ""), now)
    book = book_of(tmp_path, [ASHA], {"plots": plots})
    assert found(book, "planted-year-changed", "planted_year") == year
    assert found(book, "trees-differ-from-last-count", "apart_pct") == trees
