"""A second payment's sheet counts only where two people posted it: rule not-posted-by-two."""

from pathlib import Path

from tests.take.small import ASHA, ask, made, posted, sheet, taken

ROW = {
    "resolution_no": "AGM-7",
    "resolution_on": "2026-05-02",
    "day": "2026-05-04",
    "pool": "PARCHMENT",
    "member_no": ASHA,
    "kg": "60",
    "rate_per_kg": "0.1",
    "amount": "6.00",
}


def test_a_second_payment_that_two_people_posted_counts_and_any_other_goes_back(
    tmp_path: Path,
) -> None:
    book = made(tmp_path / "book")
    known = sheet(tmp_path, "members.csv", "members", [{"member_no": ASHA}])
    whole = sheet(tmp_path, "second_payments.csv", "second_payments", [ROW])
    posted(book, whole)
    other = sheet(tmp_path, "alone.csv", "second_payments", [ROW | {"pool": "CHERRY"}])
    taken(book, known, whole, other)
    assert ask(book, "select pool, state from second_payments order by pool") == [
        ("CHERRY", "sent_back"),
        ("PARCHMENT", "counted"),
    ]
    assert ask(book, "select rule from flags") == [("not-posted-by-two",)]
    assert ask(book, "select second_minor, balance_minor from member_season") == [(600, 600)]
