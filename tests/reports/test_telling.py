"""Messages between statements: a delivery, a month; never more than two messages long."""

import csv
import datetime as dt
import io
from dataclasses import replace

import pytest

from reports.messages import MOST, count
from reports.telling import as_csv, of_deliveries, of_month

DAY = dt.date(2026, 5, 4)
MAY = (dt.date(2026, 5, 1), dt.date(2026, 5, 31))


@pytest.fixture
def village(maker):
    maker.member("1", "Asha Tessan", "Lower Tarrin")
    maker.weighing("1", DAY, "fresh_cherry", "60.0")
    maker.weighing("1", DAY, "fresh_cherry", "12.5", state="held")
    maker.weighing("1", dt.date(2026, 6, 1), "fresh_cherry", "10.0")
    maker.pay("1", dt.date(2026, 6, 2), 2000)
    maker.member("2", "Nothing This Month", "Lower Tarrin")
    maker.weighing("2", dt.date(2026, 6, 1), "parchment", "20.0")
    maker.finish()
    return maker


def test_a_slip_says_receipt_weight_price_and_value(village, facts):
    """By hand: 60.0 kg at 0.62 is 37.20; with 10.0 kg of June 70.0 kg, 43.40."""
    said, waits = of_deliveries(village.con, facts, DAY, DAY)
    assert "4 May 2026, Kessim: Arabica, fresh cherry, 60.0 kg net." in said.text
    assert "At 0.62 a kg it is worth USD 37.20." in said.text
    assert "value USD 43.40" in said.text
    assert "12.5 kg net. It waits and is not lost" in waits.text
    assert "worth" not in waits.text


def test_a_month_is_told_to_those_who_delivered_in_it(village, facts):
    (said,) = of_month(village.con, facts, *MAY)
    assert said.member_no == "1"
    assert "May 2026: deliveries 1," in said.text
    assert "value USD 37.20" in said.text


@pytest.mark.parametrize("language", ["en", "fr", "sw", "es", "pt"])
def test_no_text_takes_more_than_two_messages(village, facts, language):
    long = replace(facts, name="The Growers' Cooperative of " + "Velunda " * 12)
    village.con.execute("update filled_members set language = ?", [language])
    offered = replace(long, languages=("en", "fr", "sw", "es", "pt"))
    texts = [
        *of_deliveries(village.con, offered, DAY, DAY),
        *of_month(village.con, offered, *MAY),
    ]
    assert len(texts) == 3
    assert all(0 < one.messages <= MOST for one in texts)
    assert ("Season so far" in texts[0].text) == (language == "en")


def test_messages_as_a_sheet(village, facts):
    found = of_deliveries(village.con, facts, DAY, DAY)
    sheet = list(csv.DictReader(io.StringIO(as_csv(found))))
    assert [row["text"] for row in sheet] == [one.text for one in found]
    assert sheet[0].keys() == {"member_no", "phone", "messages", "text"}


@pytest.mark.parametrize(
    ("text", "messages"),
    [
        ("a" * 160, 1), ("a" * 161, 2), ("a" * 306, 2), ("a" * 307, 3),
        ("ŋ" * 70, 1), ("ŋ" * 71, 2), ("ŋ" * 134, 2), ("ŋ" * 135, 3),
        ("€" * 80, 1), ("€" * 81, 2),
    ],
)  # fmt: skip
def test_lengths_of_messages_as_the_standard_has_them(text, messages):
    """3GPP TS 23.040, 9.2.3.24.1 and TS 23.038, 6.2.1 (from memory): 160 septets or 70 units of
    16 bits in one message, 153 or 67 in each of several; the euro sign takes two septets."""
    assert count(text) == messages
